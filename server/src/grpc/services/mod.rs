//! One file per service: parse, one use case, render.

pub mod assembly;
pub mod catalogue;
pub mod finding;
pub mod fits;
pub mod measuring;
pub mod planning;
pub mod policies;
pub mod rebuilds;
pub mod receiving;
pub mod reconditioning;
pub mod repairs;
pub mod standards;
pub mod stock;
pub mod transfer;

use crate::app::Error;
use crate::grpc::check::Check;
use crate::grpc::wire_enum::WireEnum;

/// The tag or code that a read names.
fn named(field: &str, value: &str) -> Result<String, Error> {
    let mut check = Check::new();
    let value = check.tag(field, value);
    check.finish()?;
    Ok(value)
}

/// A member of an enumeration that a filter may leave out.
fn optional_enum<T: WireEnum>(field: &str, number: i32) -> Result<Option<T>, Error> {
    let mut check = Check::new();
    let member = check.optional_enum(field, number);
    check.finish()?;
    Ok(member)
}

/// A text that a filter may leave out.
fn given(text: &str) -> Option<String> {
    Some(text.trim().to_owned()).filter(|text| !text.is_empty())
}
