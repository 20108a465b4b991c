//! Which methods this server has, and their shape, read from the compiled-in descriptors.

use prost::Message;
use prost_types::FileDescriptorSet;
use std::collections::HashMap;
use std::sync::Arc;

/// Services that come with gRPC itself and not with the shop.
const PLATFORM_PREFIX: &str = "/grpc.";

/// How requests and responses follow each other.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Shape {
    /// One request, one response.
    Unary,
    /// Ends with the data, as an import does.
    Streaming,
    /// Ends when its client goes away: a watch, a reflection session.
    Endless,
}

/// Every method by its path, as `/tenths.v1.StockService/ListLots`.
#[derive(Clone, Debug)]
pub struct Methods {
    shapes: Arc<HashMap<Arc<str>, Shape>>,
}

impl Methods {
    /// The methods of `tenths.v1`, of the health service and of reflection.
    #[must_use]
    pub fn served() -> Self {
        let sets = [
            tenths_proto::FILE_DESCRIPTOR_SET,
            tonic_health::pb::FILE_DESCRIPTOR_SET,
            tonic_reflection::pb::v1::FILE_DESCRIPTOR_SET,
            tonic_reflection::pb::v1alpha::FILE_DESCRIPTOR_SET,
        ];
        Self { shapes: Arc::new(sets.into_iter().flat_map(read).collect()) }
    }

    /// The path as this server spells it, and the method's shape; nothing for another path, which
    /// may hold anything that a client cares to send.
    #[must_use]
    pub fn find(&self, path: &str) -> Option<(Arc<str>, Shape)> {
        self.shapes.get_key_value(path).map(|(path, shape)| (Arc::clone(path), *shape))
    }

    /// The shape of a method; what is not known is answered at once, like a unary call.
    #[must_use]
    pub fn shape(&self, path: &str) -> Shape {
        self.shapes.get(path).copied().unwrap_or(Shape::Unary)
    }

    /// The names of the shop's own services, sorted.
    #[must_use]
    pub fn shop_services(&self) -> Vec<String> {
        let mut names: Vec<String> = self
            .shapes
            .keys()
            .filter(|path| !path.starts_with(PLATFORM_PREFIX))
            .filter_map(|path| path.split('/').nth(1).map(str::to_owned))
            .collect();
        names.sort();
        names.dedup();
        names
    }
}

fn read(encoded: &[u8]) -> Vec<(Arc<str>, Shape)> {
    let set = FileDescriptorSet::decode(encoded).expect("descriptors are compiled in");
    let mut found = Vec::new();
    for file in &set.file {
        for service in &file.service {
            for method in &service.method {
                let path = format!("/{}.{}/{}", file.package(), service.name(), method.name());
                let streaming = method.client_streaming() || method.server_streaming();
                let endless =
                    path.starts_with(PLATFORM_PREFIX) || method.name().starts_with("Watch");
                let shape = match (streaming, endless) {
                    (false, _) => Shape::Unary,
                    (true, false) => Shape::Streaming,
                    (true, true) => Shape::Endless,
                };
                found.push((path.into(), shape));
            }
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shapes_follow_the_contract() {
        let methods = Methods::served();
        for (path, shape) in [
            ("/tenths.v1.TransferService/ImportRows", Shape::Streaming),
            ("/tenths.v1.TransferService/ExportRows", Shape::Streaming),
            ("/tenths.v1.FindingService/FindAllFits", Shape::Streaming),
            ("/grpc.health.v1.Health/Watch", Shape::Endless),
            ("/tenths.v1.ReconditioningService/WatchOperations", Shape::Endless),
            ("/grpc.reflection.v1.ServerReflection/ServerReflectionInfo", Shape::Endless),
            ("/grpc.reflection.v1alpha.ServerReflection/ServerReflectionInfo", Shape::Endless),
            ("/grpc.health.v1.Health/Check", Shape::Unary),
        ] {
            assert_eq!(methods.find(path), Some((path.into(), shape)));
        }
        assert_eq!(methods.find("/tenths.v1.TransferService/Nothing"), None);
        let streaming = methods.shapes.values().filter(|shape| **shape == Shape::Streaming).count();
        assert_eq!(streaming, 3, "a new stream needs a decision about its deadline");
    }

    #[test]
    fn shop_services_are_those_of_the_contract() {
        let services = Methods::served().shop_services();
        assert!(services.contains(&"tenths.v1.TransferService".to_owned()), "{services:?}");
        assert!(services.iter().all(|name| name.starts_with("tenths.v1.")), "{services:?}");
        assert!(services.is_sorted() && services.len() >= 8, "{services:?}");
    }
}
