//! Limits of size.

use super::common::{class, length};
use super::standards::trace;
use crate::app::Error;
use crate::app::fits::{ClassLimits, GetLimits};
use crate::app::trace::fine;
use crate::grpc::check::Check;
use tenths_domain::iso286::{self, Class, ClassFault};
use tenths_domain::units::{Entry, Unit};
use tenths_proto::v1 as pb;

/// A class at a size.
///
/// # Errors
/// [`Error::Invalid`] with every violation.
pub fn get_limits(wire: &pb::GetLimitsRequest) -> Result<GetLimits, Error> {
    let mut check = Check::new();
    let size = check.length("size", wire.size.as_ref());
    if wire.tolerance_class.is_empty() {
        check.refuse("tolerance_class", "it is empty; a class such as k5 or H7 is required");
    }
    let class = class_at(&mut check, &wire.tolerance_class, size.as_ref());
    let (Some(size), Some(class)) = (size, class) else { return Err(check.into_error()) };
    check.finish()?;
    Ok(GetLimits { size, class })
}

/// The one class that limits are asked of; a grade alone is answered with its width at the size.
fn class_at(check: &mut Check, text: &str, size: Option<&Entry>) -> Option<Class> {
    let fault = text.parse::<Class>().err().map(|error| error.fault);
    let width = match (fault, size) {
        (Some(ClassFault::GradeAlone { grade }), Some(size)) => {
            iso286::width(size.length, grade).ok().map(|width| (grade, width, size))
        }
        _ => None,
    };
    if let Some((grade, width, size)) = width {
        let figures = &grade.to_string()[2..];
        let wide = fine(width, size.unit);
        check.refuse(
            "tolerance_class",
            format!(
                "{grade} at {size} is {wide} wide (ISO 286-1:2010, Table 1); limits need the \
                 letters of a fundamental deviation too, as in h{figures}, H{figures} or js{figures}"
            ),
        );
        return None;
    }
    class(check, "tolerance_class", text).flatten()
}

/// Limits outward.
pub fn class_limits(found: ClassLimits) -> pb::GetLimitsResponse {
    let unit = found.unit;
    // Deviations are spoken of in micrometres or thou.
    let fine = match unit {
        Unit::Inch | Unit::Thou => Unit::Thou,
        Unit::Millimetre | Unit::Micrometre => Unit::Micrometre,
    };
    pb::GetLimitsResponse {
        lower: Some(length(found.limits.lower, unit)),
        upper: Some(length(found.limits.upper, unit)),
        lower_deviation: Some(length(found.deviations.lower, fine)),
        upper_deviation: Some(length(found.deviations.upper, fine)),
        source: found.source.to_owned(),
        unconfirmed: found.unconfirmed,
        traces: found.traces.into_iter().map(trace).collect(),
    }
}
