//! Messages of the contract seen through their descriptors, so that no field is ever forgotten.

use prost::Message;
use prost_reflect::{DescriptorPool, DynamicMessage, MessageDescriptor, ReflectMessage};
use std::sync::LazyLock;
use tenths_proto::v1;

/// The contract. Its bytes are compiled in, so decoding them cannot fail at run time; an empty
/// pool would make every look-up below fail in the tests.
static CONTRACT: LazyLock<DescriptorPool> =
    LazyLock::new(|| DescriptorPool::decode(tenths_proto::FILE_DESCRIPTOR_SET).unwrap_or_default());

/// A message that can be shown: the generated type tied to its name in the contract.
pub(crate) trait Shown: Message {
    /// The name within `tenths.v1`.
    const NAME: &'static str;
}

macro_rules! shown {
    ($($message:ident)*) => {
        $(impl Shown for v1::$message { const NAME: &'static str = stringify!($message); })*
        /// Every message that can be shown, for the tests.
        #[cfg(test)]
        pub(crate) const SHOWN_NAMES: &[&str] = &[$(stringify!($message)),*];
    };
}

shown! {
    CreateItemResponse GetItemResponse ListItemsResponse UpdateItemResponse SetFeatureResponse
    LogCoreResponse GetCoreResponse ListCoresResponse RegradeCoreResponse MoveCoreResponse
    TearDownCoreResponse
    CreateLocationResponse ListLocationsResponse
    CreatePieceResponse GetPieceResponse ListPiecesResponse UpdatePieceResponse MovePieceResponse
    AcceptPieceResponse ScrapPieceResponse
    ReceiveLotResponse GetLotResponse ListLotsResponse MoveLotResponse AdjustLotResponse
    ListLedgerEntriesResponse
    RegisterGaugeResponse GetGaugeResponse ListGaugesResponse UpdateGaugeResponse
    StartOperationResponse PauseOperationResponse FinishOperationResponse RejectOperationResponse
    CreateSendOutResponse ReturnSendOutResponse ListSendOutsResponse
    RecordReadingsResponse ListReadingsResponse VoidReadingResponse
    AssessPieceResponse ListAssessmentsResponse
    GetLimitsResponse JudgeFitResponse BatchJudgeFitsResponse FindFitResponse
    FindBySizeResponse FindReplacementResponse GetIndexStatusResponse Fit
    GetInchFitResponse GetBearingResponse MatchBearingsResponse RecommendSeatResponse
    GetShaftExtensionResponse GetKeyResponse JudgeKeyseatResponse GetRetainingRingResponse
    BatchGetLimitsResponse BatchGetBearingsResponse BatchGetKeysResponse
    GetCloseInResponse GetRunningClearanceResponse GetAssemblyAdviceResponse
    GetShaftStrengthResponse
    EnqueueJobResponse GetJobResponse ListJobsResponse ClaimJobResponse RenewClaimResponse
    ReleaseClaimResponse FinishJobResponse ScrapJobResponse
    ProposeRepairsResponse DecideRepairResponse ListRepairDecisionsResponse
    GetPolicyResponse SetPolicyResponse ListPoliciesResponse Policy
    PlanDayResponse ReleasePlanResponse DayPlan ListYieldsResponse
    OpenRebuildResponse GetRebuildResponse ListRebuildsResponse CloseRebuildResponse
    UpdateRebuildResponse
    ReserveResponse GetReservationResponse ListReservationsResponse ExtendReservationResponse
    ReleaseReservationsResponse ConsumeReservationsResponse
    ImportSummary
}

/// The descriptor of a message of `tenths.v1`.
pub(crate) fn descriptor(name: &str) -> Option<MessageDescriptor> {
    CONTRACT.get_message_by_name(&format!("tenths.v1.{name}"))
}

/// The message as its descriptor sees it.
pub(crate) fn seen<M: Shown>(message: &M) -> anyhow::Result<DynamicMessage> {
    let descriptor =
        descriptor(M::NAME).ok_or_else(|| anyhow::anyhow!("{} is not in the contract", M::NAME))?;
    Ok(DynamicMessage::decode(descriptor, message.encode_to_vec().as_slice())?)
}

/// A well-known or shared message as its generated type again.
pub(crate) fn typed<M: Message + Default>(message: &DynamicMessage) -> Option<M> {
    M::decode(message.encode_to_vec().as_slice()).ok()
}

/// The short name of a message: `Length` of `tenths.v1.Length`.
pub(crate) fn short_name(message: &DynamicMessage) -> String {
    message.descriptor().name().to_owned()
}

/// Every rpc of the contract as `/tenths.v1.CatalogueService/GetItem`.
#[cfg(test)]
pub(crate) fn rpc_paths() -> std::collections::BTreeSet<String> {
    let services = CONTRACT.services();
    services
        .flat_map(|service| service.methods().collect::<Vec<_>>())
        .map(|method| format!("/{}/{}", method.parent_service().full_name(), method.name()))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Every response of a unary rpc can be shown under the name that the contract gives it.
    #[test]
    fn every_unary_response_can_be_shown() {
        for service in CONTRACT.services() {
            for method in service.methods().filter(|method| !method.is_server_streaming()) {
                let name = method.output().name().to_owned();
                assert!(SHOWN_NAMES.contains(&name.as_str()), "{name} cannot be shown");
            }
        }
        for name in SHOWN_NAMES {
            assert!(descriptor(name).is_some(), "{name} is not in the contract");
        }
    }
}
