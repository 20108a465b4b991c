//! The wire: parse into domain types, one call of a use case, render.
//!
//! No rule of the shop stands here. Violations of a request are collected and answered together.

pub mod check;
pub mod convert;
mod once;
pub mod page;
mod ranked;
pub mod services;
pub mod status;
pub mod wire_enum;

use crate::app::App;
use services::{
    assembly, catalogue, finding, fits, measuring, planning, policies, rebuilds, receiving,
    reconditioning, repairs, standards, stock, transfer,
};
use tenths_proto::v1::assembly_service_server::AssemblyServiceServer;
use tenths_proto::v1::catalogue_service_server::CatalogueServiceServer;
use tenths_proto::v1::finding_service_server::FindingServiceServer;
use tenths_proto::v1::fits_service_server::FitsServiceServer;
use tenths_proto::v1::measuring_service_server::MeasuringServiceServer;
use tenths_proto::v1::planning_service_server::PlanningServiceServer;
use tenths_proto::v1::policy_service_server::PolicyServiceServer;
use tenths_proto::v1::rebuilds_service_server::RebuildsServiceServer;
use tenths_proto::v1::receiving_service_server::ReceivingServiceServer;
use tenths_proto::v1::reconditioning_service_server::ReconditioningServiceServer;
use tenths_proto::v1::repairs_service_server::RepairsServiceServer;
use tenths_proto::v1::standards_service_server::StandardsServiceServer;
use tenths_proto::v1::stock_service_server::StockServiceServer;
use tonic::service::Routes;

/// The largest request that is decoded: 1 MiB, far above any honest one.
const REQUEST_BYTES_MAX: usize = 1 << 20;

/// Every service of `tenths.v1`.
pub fn routes(app: App) -> Routes {
    macro_rules! service {
        ($server:ident, $service:expr) => {
            $server::new($service).max_decoding_message_size(REQUEST_BYTES_MAX)
        };
    }
    Routes::new(service!(CatalogueServiceServer, catalogue::Catalogue::new(app.clone())))
        .add_service(service!(ReceivingServiceServer, receiving::Receiving::new(app.clone())))
        .add_service(service!(MeasuringServiceServer, measuring::Measuring::new(app.clone())))
        .add_service(service!(StockServiceServer, stock::Stock::new(app.clone())))
        .add_service(service!(AssemblyServiceServer, assembly::Assembly::new(app.clone())))
        .add_service(service!(StandardsServiceServer, standards::Standards))
        .add_service(service!(FindingServiceServer, finding::Finding::new(app.clone())))
        .add_service(service!(FitsServiceServer, fits::Fits::new(app.clone())))
        .add_service(service!(
            ReconditioningServiceServer,
            reconditioning::Reconditioning::new(app.clone())
        ))
        .add_service(service!(PolicyServiceServer, policies::Policies::new(app.clone())))
        .add_service(service!(RepairsServiceServer, repairs::Repairs::new(app.clone())))
        .add_service(service!(PlanningServiceServer, planning::Planning::new(app.clone())))
        .add_service(service!(RebuildsServiceServer, rebuilds::Rebuilds::new(app.clone())))
        .add_service(transfer::server(app))
}
