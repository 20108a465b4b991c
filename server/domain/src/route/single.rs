//! The route of a job for which nobody laid one out: one operation, or a vendor's work and the
//! inspection of what comes back.

use super::{Machine, Operation, OperationKind, WorkCaution};
use crate::item::{FeatureKind, Limits, Side};
use crate::policy::Site;
use crate::state::Method;

/// One operation: the work, in the shop, as far as re-measuring. A build-up is on the machine that
/// gives it its finished size.
///
/// ```
/// use tenths_domain::item::FeatureKind;
/// use tenths_domain::route::{Machine, single};
/// use tenths_domain::state::Method;
/// let polish = single(Method::Polish, FeatureKind::Journal, None);
/// assert_eq!((polish.machine, polish.text.as_str()), (Machine::Lathe, "polish, then re-measure"));
/// ```
pub fn single(method: Method, feature: FeatureKind, to: Option<Limits>) -> Operation {
    let kind = match (method, feature, feature.side()) {
        (Method::Polish, ..) => OperationKind::Polish,
        (Method::Sleeve, ..) => OperationKind::FitSleeve,
        (Method::Straighten, ..) => OperationKind::Straighten,
        (Method::Hone, ..) => OperationKind::FinishBore,
        (Method::FitKey, ..) => OperationKind::FitKey,
        (Method::CutKeyseat, ..) => OperationKind::CutKeyseat,
        (Method::Regrind, ..) => OperationKind::FinishGrind,
        (Method::BuildUp, FeatureKind::Keyseat, _) => OperationKind::CutKeyseat,
        (Method::BuildUp, _, Side::Internal) => OperationKind::FinishBore,
        (Method::BuildUp, _, Side::External) => OperationKind::FinishGrind,
    };
    let (machine, caution) = match kind {
        OperationKind::Polish => (Machine::Lathe, WorkCaution::Grinding),
        OperationKind::FinishGrind => (Machine::CylindricalGrinder, WorkCaution::Grinding),
        OperationKind::FinishBore => (Machine::BoringMachine, WorkCaution::Grinding),
        OperationKind::CutKeyseat => (Machine::MillingMachine, WorkCaution::Grinding),
        OperationKind::FitKey => (Machine::Bench, WorkCaution::Rotating),
        _ => (Machine::Press, WorkCaution::Pressing),
    };
    Operation {
        kind,
        machine,
        setup_family: machine.setup_family(),
        site: Site::InHouse,
        vendor: None,
        from: None,
        to,
        change: None,
        minutes: None,
        cautions: vec![caution, WorkCaution::Basis],
        text: format!("{method}, then re-measure"),
    }
}

/// The work at a vendor, the inspection of what comes back, and the re-measuring that decides.
///
/// ```
/// use tenths_domain::item::FeatureKind;
/// use tenths_domain::policy::Site::{InHouse, Vendor};
/// use tenths_domain::route::{OperationKind, sent_out};
/// use tenths_domain::state::Method;
/// let route = sent_out(Method::BuildUp, FeatureKind::RollingSeat, None);
/// let sites: Vec<_> = route.iter().map(|one| one.site).collect();
/// assert_eq!(sites, [Vendor, InHouse, InHouse]);
/// assert_eq!(route[0].kind, OperationKind::BuildUp);
/// ```
pub fn sent_out(method: Method, feature: FeatureKind, to: Option<Limits>) -> Vec<Operation> {
    let mut work = single(method, feature, to);
    if method == Method::BuildUp {
        // How it is built up nobody has laid down; that it is, its vendor is judged by.
        work.kind = OperationKind::BuildUp;
        work.machine = Machine::BuildUpPlant;
        work.setup_family = Machine::BuildUpPlant.setup_family();
        work.cautions = vec![WorkCaution::Plating, WorkCaution::Basis];
    }
    let at_bench = |kind, text: &str| Operation {
        kind,
        machine: Machine::InspectionBench,
        setup_family: Machine::InspectionBench.setup_family(),
        to: None,
        cautions: vec![WorkCaution::Basis],
        text: text.to_owned(),
        ..work.clone()
    };
    let back = at_bench(OperationKind::ReturnInspect, "inspect what came back, before it goes on");
    let inspect = at_bench(OperationKind::Inspect, "re-measure");
    let text = format!("{method}, at a vendor");
    vec![Operation { site: Site::Vendor, text, ..work }, back, inspect]
}
