//! tenthsd: the Tenths backend. `app` holds the use cases, `grpc` the wire, the rest the running.

pub mod app;
pub mod grpc;
