//! The order in which a repair is made.

use super::{Amount, Machine, Operation, OperationKind, WorkCaution};
use crate::item::{FeatureKind, Limits, Side};
use crate::options::{Repair, Target, WornFeature, straightened_to};
use crate::policy::{BuildMethod, MethodPolicy, Policy, Site};
use crate::state::BuiltUp;
use crate::units::{Length, Unit};

/// A repair and what it is made on.
pub struct Work<'a> {
    /// The repair.
    pub repair: Repair,
    /// The worn feature.
    pub worn: &'a WornFeature,
    /// The policy.
    pub policy: &'a Policy,
    /// The finished size.
    pub target: Option<Target>,
    /// The size that the part's own metal is cut to.
    pub cut_to: Option<Length>,
    /// What is put on at most, finished, on diameter.
    pub added: Length,
    /// The unit of the texts.
    pub unit: Unit,
}

/// The operations of a repair, in order; none for reuse, replace and scrap.
pub fn route(work: &Work<'_>) -> Vec<Operation> {
    let mut made = Route { work, operations: Vec::new() };
    match work.repair {
        Repair::Reuse | Repair::Replace | Repair::Scrap => return Vec::new(),
        Repair::Straighten => {
            made.prepare();
            made.add(Step::bare(OperationKind::CrackTest, Machine::InspectionBench));
        }
        Repair::Polish => {
            made.add(Step::bare(OperationKind::Clean, Machine::Wash));
            made.cut(OperationKind::Polish, Machine::Lathe);
        }
        Repair::SteppedKey => {
            made.add(Step::bare(OperationKind::Clean, Machine::Wash));
            let to = work.target.map(|target| target.span());
            made.add(Step { to, ..Step::bare(OperationKind::FitKey, Machine::Bench) });
        }
        Repair::NextKeyWidth => {
            made.prepare();
            made.finish(OperationKind::CutKeyseat, Machine::MillingMachine);
            made.add(Step::bare(OperationKind::Balance, Machine::BalancingStand));
        }
        Repair::FinishToLimits | Repair::Regrind { .. } => {
            made.prepare();
            made.finish_round();
        }
        Repair::BuildUp { method } => {
            made.prepare();
            if let Some(entry) = work.policy.method(method) {
                made.build_up(entry);
            }
        }
    }
    made.add(Step::bare(OperationKind::Inspect, Machine::InspectionBench));
    made.operations
}

struct Route<'a> {
    work: &'a Work<'a>,
    operations: Vec<Operation>,
}

/// One operation before the policy's minutes and the cautions are put to it.
struct Step<'a> {
    kind: OperationKind,
    machine: Machine,
    method: Option<&'a MethodPolicy>,
    from: Option<Length>,
    to: Option<Limits>,
    change: Option<Length>,
}

impl Step<'_> {
    const fn bare(kind: OperationKind, machine: Machine) -> Self {
        Step { kind, machine, method: None, from: None, to: None, change: None }
    }
}

const fn exactly(size: Length) -> Limits {
    Limits { lower: size, upper: size }
}

impl Route<'_> {
    fn add(&mut self, step: Step<'_>) {
        let Step { kind, machine, method, from, to, change } = step;
        let unit = self.work.unit;
        let change = change.map(Amount::on_diameter);
        let mut text = kind.as_str().replace('_', " ");
        if let Some(to) = to {
            let [lower, upper] = [to.lower, to.upper].map(|one| one.display_in(unit));
            let to = if lower == upper { upper } else { format!("{lower} to {upper}") };
            text = match from {
                Some(from) => format!("{text} from {} to {to}", from.display_in(unit)),
                None if kind == OperationKind::FitKey => {
                    format!("make a stepped key to the keyseat, which reads {to}, and fit it")
                }
                None => format!("{text} to {to}"),
            };
        }
        if let Some(change) = change {
            text = format!("{text}, at most {}", change.words(unit));
        }
        if kind == OperationKind::Bake
            && let Some(bake) = method.and_then(|entry| entry.bake.as_ref())
        {
            text = format!(
                "bake {} to {} h at {} to {} C, start within {} h of plating (from {} up)",
                bake.hours_min,
                bake.hours_max,
                bake.celsius_min,
                bake.celsius_max,
                bake.start_within_hours,
                bake.from
            );
        }
        self.operations.push(Operation {
            kind,
            machine,
            setup_family: machine.setup_family(),
            site: method.map_or(Site::InHouse, |entry| entry.site),
            vendor: method.and_then(|entry| entry.vendor.clone()),
            from,
            to,
            change,
            minutes: self.work.policy.operation(kind).and_then(|entry| entry.minutes),
            cautions: cautions(kind, self.is_shaft(), change.is_some()),
            text,
        });
    }

    /// Clean, look for cracks before money is spent, straighten if it is bent.
    fn prepare(&mut self) {
        self.add(Step::bare(OperationKind::Clean, Machine::Wash));
        self.add(Step::bare(OperationKind::CrackTest, Machine::InspectionBench));
        if let Some(left) = straightened_to(self.work.worn, self.work.policy) {
            self.add(Step::bare(OperationKind::Straighten, Machine::Press));
            let bent = self.work.worn.run_out_tir.unwrap_or_default();
            let [bent, left] = [bent, left].map(|one| one.display_in(self.work.unit));
            if let Some(straighten) = self.operations.last_mut() {
                straighten.text = format!("straighten: run-out {bent}, to {left} or less");
            }
        }
    }

    fn is_shaft(&self) -> bool {
        self.work.worn.side() == Side::External
    }

    /// A cut from the fullest reading down to where the metal ends.
    fn cut(&mut self, kind: OperationKind, machine: Machine) {
        let from = self.work.worn.least_worn();
        let Some(to) = self.work.cut_to else { return };
        let change = Some((from - to).abs());
        let step = Step::bare(kind, machine);
        self.add(Step { from: Some(from), to: Some(exactly(to)), change, ..step });
    }

    /// The finished size from the worn one.
    fn finish(&mut self, kind: OperationKind, machine: Machine) {
        let from = self.work.worn.least_worn();
        self.finish_from(kind, machine, from);
    }

    fn finish_from(&mut self, kind: OperationKind, machine: Machine, from: Length) {
        let Some(target) = self.work.target else { return };
        let span = target.span();
        // Per side means nothing of a width.
        let is_round = self.work.worn.kind != FeatureKind::Keyseat;
        let most = (from - span.lower).abs().max((from - span.upper).abs());
        let change = Some(most).filter(|_| is_round);
        let step = Step::bare(kind, machine);
        self.add(Step { from: Some(from), to: Some(span), change, ..step });
    }

    fn finish_round(&mut self) {
        let from = self.work.worn.least_worn();
        self.finish_round_from(from);
    }

    fn finish_round_from(&mut self, from: Length) {
        if self.is_shaft() {
            self.finish_from(OperationKind::FinishGrind, Machine::CylindricalGrinder, from);
            self.add(Step::bare(OperationKind::CrackTest, Machine::InspectionBench));
        } else {
            self.finish_from(OperationKind::FinishBore, Machine::BoringMachine, from);
        }
    }

    fn build_up(&mut self, entry: &MethodPolicy) {
        if self.work.worn.built_up == BuiltUp::Yes {
            let step = Step::bare(OperationKind::Strip, Machine::BuildUpPlant);
            self.add(Step { method: Some(entry), ..step });
        }
        if self.work.worn.kind == FeatureKind::Keyseat {
            self.weld_keyseat(entry);
            return;
        }
        let (Some(cut_to), Some(target)) = (self.work.cut_to, self.work.target) else { return };
        let undercut = match (self.is_shaft(), entry.method) {
            (false, _) => Machine::BoringMachine,
            (true, BuildMethod::Sleeve | BuildMethod::ThermalSpray) => Machine::Lathe,
            (true, _) => Machine::CylindricalGrinder,
        };
        self.cut(OperationKind::Undercut, undercut);
        let raised = self.put_on(entry, cut_to, target);
        self.treat(entry);
        if entry.site == Site::Vendor {
            self.add(Step::bare(OperationKind::ReturnInspect, Machine::InspectionBench));
        }
        self.finish_round_from(raised);
        let is_heavy =
            !matches!(entry.method, BuildMethod::HardChrome | BuildMethod::SelectivePlating);
        // A housing does not turn.
        if is_heavy && self.work.worn.kind != FeatureKind::HousingBore {
            self.add(Step::bare(OperationKind::Balance, Machine::BalancingStand));
        }
    }

    /// The layer, with what is ground off again; the size that it comes to.
    fn put_on(&mut self, entry: &MethodPolicy, cut_to: Length, target: Target) -> Length {
        let over = entry.over_build_per_side + entry.over_build_per_side;
        let span = target.span();
        let raised = if self.is_shaft() { span.upper + over } else { span.lower - over };
        let kind = entry.method.operation();
        let machine = match entry.method {
            BuildMethod::Sleeve => Machine::Press,
            _ => Machine::BuildUpPlant,
        };
        let (from, to) = (Some(cut_to), Some(exactly(raised)));
        let change = Some((raised - cut_to).abs());
        self.add(Step { method: Some(entry), from, to, change, ..Step::bare(kind, machine) });
        raised
    }

    /// Stress relief after welding; the bake after plating, unless it is known to be soft.
    fn treat(&mut self, entry: &MethodPolicy) {
        if entry.method == BuildMethod::Weld {
            let step = Step::bare(OperationKind::StressRelieve, Machine::Oven);
            self.add(Step { method: Some(entry), ..step });
        }
        let hardness = self.work.worn.hardness;
        if let Some(bake) = &entry.bake
            && self.work.worn.may_be_steel()
            && hardness.is_none_or(|hardness| hardness >= bake.from)
        {
            let step = Step::bare(OperationKind::Bake, Machine::Oven);
            self.add(Step { method: Some(entry), ..step });
        }
    }

    fn weld_keyseat(&mut self, entry: &MethodPolicy) {
        let step = Step::bare(OperationKind::Weld, Machine::BuildUpPlant);
        self.add(Step { method: Some(entry), ..step });
        self.treat(entry);
        if entry.site == Site::Vendor {
            self.add(Step::bare(OperationKind::ReturnInspect, Machine::InspectionBench));
        }
        let span = self.work.target.map(|target| target.span());
        let step = Step::bare(OperationKind::CutKeyseat, Machine::MillingMachine);
        self.add(Step { to: span, ..step });
        self.add(Step::bare(OperationKind::CrackTest, Machine::InspectionBench));
        self.add(Step::bare(OperationKind::Balance, Machine::BalancingStand));
    }
}

fn cautions(kind: OperationKind, is_shaft: bool, changes_size: bool) -> Vec<WorkCaution> {
    use OperationKind::*;
    let own: &[WorkCaution] = match kind {
        Clean => &[WorkCaution::Solvents],
        CrackTest => &[WorkCaution::Cracks],
        Straighten => &[WorkCaution::Pressing, WorkCaution::Cracks],
        Strip => &[WorkCaution::Plating],
        Undercut | FinishGrind if is_shaft => &[WorkCaution::Grinding, WorkCaution::Fillet],
        Undercut | FinishGrind => &[WorkCaution::Grinding],
        Polish | FinishBore | CutKeyseat => &[WorkCaution::Grinding],
        Plate | BuildUp => &[WorkCaution::Plating],
        Spray => &[WorkCaution::Spraying],
        Weld => &[WorkCaution::Welding],
        FitSleeve => &[WorkCaution::Pressing, WorkCaution::Heat],
        StressRelieve => &[WorkCaution::Heat],
        Bake => &[WorkCaution::Baking, WorkCaution::Heat],
        Balance => &[WorkCaution::Rotating],
        ReturnInspect | FitKey => &[],
        Inspect => &[WorkCaution::Basis],
    };
    let per_side = changes_size.then_some(WorkCaution::PerSide);
    own.iter().copied().chain(per_side).collect()
}
