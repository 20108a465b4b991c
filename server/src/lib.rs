//! tenthsd: the Tenths backend. `app` holds the use cases, `grpc` the wire, the rest the running.

pub mod app;
pub mod config;
pub mod grpc;
pub mod layers;
pub mod policy_document;
pub mod serve;
pub mod shutdown;
pub mod telemetry;
