//! What every call passes before it reaches a service, outermost first: [`trace`], [`drain`],
//! [`limit`], [`deadline`], [`failure`].
//!
//! Each layer is a tower layer of our own over tonic's bodies. None looks into a message, and none
//! knows a rule of the shop. Authentication is not here yet.

pub mod deadline;
pub mod drain;
pub mod failure;
pub mod limit;
pub mod methods;
pub mod trace;

mod code;
mod cut;
mod refusal;
#[cfg(test)]
mod testing;

use std::convert::Infallible;

/// What a call comes to.
type Response = http::Response<tonic::body::Body>;
/// A call in progress.
type Call = futures::future::BoxFuture<'static, Result<Response, Infallible>>;
