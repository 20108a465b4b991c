//! The `tenths.v1` contract and its generated code, nothing else.
#![warn(missing_docs)]

/// Messages, clients and servers of `tenths.v1`.
#[allow(unreachable_pub, unused_qualifications, clippy::all)]
pub mod v1 {
    tonic::include_proto!("tenths.v1");
}

/// The encoded descriptor set of the contract, for reflection and for tests that list every rpc.
pub const FILE_DESCRIPTOR_SET: &[u8] = include_bytes!(concat!(env!("OUT_DIR"), "/tenths_v1.bin"));
