//! The operations of reconditioning and the machines that do them.

use crate::named::named_enum;
use crate::state::RejectReason;

named_enum! {
    /// What is done to a part. Words in general use in the trade; no published source.
    OperationKind, "operation" {
        /// Clean, before anything is measured.
        Clean = "clean",
        /// Look for cracks, by magnetic particles or dye.
        CrackTest = "crack_test",
        /// Straighten.
        Straighten = "straighten",
        /// Take an earlier layer off.
        Strip = "strip",
        /// Cut below the worn surface, so that what is put on has room.
        Undercut = "undercut",
        /// Plate.
        Plate = "plate",
        /// Spray.
        Spray = "spray",
        /// Weld.
        Weld = "weld",
        /// Build up by a method that its vendor chooses, and bring to size.
        BuildUp = "build_up",
        /// Shrink or press a sleeve on or in.
        FitSleeve = "fit_sleeve",
        /// Relieve stress by heat.
        StressRelieve = "stress_relieve",
        /// Bake hydrogen out.
        Bake = "bake",
        /// Inspect what came back from a vendor, before it goes on.
        ReturnInspect = "return_inspect",
        /// Grind to finished size.
        FinishGrind = "finish_grind",
        /// Bore or hone to finished size.
        FinishBore = "finish_bore",
        /// Polish.
        Polish = "polish",
        /// Cut a keyseat.
        CutKeyseat = "cut_keyseat",
        /// Make a stepped key and fit it by hand.
        FitKey = "fit_key",
        /// Balance.
        Balance = "balance",
        /// Re-measure: decides stock, rework or scrap.
        Inspect = "inspect",
    }
}

named_enum! {
    /// Where an operation is done.
    Machine, "machine" {
        /// The wash.
        Wash = "wash",
        /// The bench.
        Bench = "bench",
        /// A press.
        Press = "press",
        /// A cylindrical grinder.
        CylindricalGrinder = "cylindrical_grinder",
        /// A lathe.
        Lathe = "lathe",
        /// A boring machine or hone.
        BoringMachine = "boring_machine",
        /// A milling machine.
        MillingMachine = "milling_machine",
        /// An oven.
        Oven = "oven",
        /// Plating, spraying or welding equipment.
        BuildUpPlant = "build_up_plant",
        /// A balancing stand.
        BalancingStand = "balancing_stand",
        /// The inspection bench.
        InspectionBench = "inspection_bench",
    }
}

impl OperationKind {
    /// Whether it leaves a layer or a sleeve on the part.
    pub const fn adds_metal(self) -> bool {
        use OperationKind::{BuildUp, FitSleeve, Plate, Spray, Weld};
        matches!(self, Plate | Spray | Weld | BuildUp | FitSleeve)
    }

    /// Whether it only takes off what is in the way of something that is put on later.
    pub const fn makes_room(self) -> bool {
        matches!(self, OperationKind::Strip | OperationKind::Undercut)
    }

    /// Whether this reason for rejecting says that this operation was not done well, wherever it is
    /// found: a layer that flakes in the grinder was badly put on.
    pub const fn is_blamed_for(self, reason: RejectReason) -> bool {
        match reason {
            RejectReason::PoorBond | RejectReason::TooThin => self.adds_metal(),
            RejectReason::NotBaked => matches!(self, OperationKind::Bake),
            RejectReason::GrindingBurn => matches!(self, OperationKind::FinishGrind),
            _ => false,
        }
    }

    /// Whether it only looks at work done before: its own outcome is the outcome of that work.
    pub const fn judges(self) -> bool {
        matches!(self, OperationKind::ReturnInspect | OperationKind::Inspect)
    }

    /// Whether the place measures otherwise after it.
    pub const fn changes_size(self) -> bool {
        use OperationKind::{CutKeyseat, FinishBore, FinishGrind, Polish};
        let cuts = matches!(self, FinishGrind | FinishBore | Polish | CutKeyseat);
        cuts || self.makes_room() || self.adds_metal()
    }
}

impl Machine {
    /// Whether it is set to a finished size, so that another size is another set-up.
    pub const fn is_set_to_size(self) -> bool {
        use Machine::{BoringMachine, CylindricalGrinder, Lathe, MillingMachine};
        matches!(self, CylindricalGrinder | Lathe | BoringMachine | MillingMachine)
    }

    /// The family of set-ups: the machine and how the part is held.
    pub const fn setup_family(self) -> &'static str {
        match self {
            Machine::Wash => "wash",
            Machine::Bench => "bench",
            Machine::Press => "press",
            Machine::CylindricalGrinder => "cylindrical_grinder, between centres",
            Machine::Lathe => "lathe, between centres",
            Machine::BoringMachine => "boring_machine, clamped on its face",
            Machine::MillingMachine => "milling_machine, in vee blocks",
            Machine::Oven => "oven",
            Machine::BuildUpPlant => "build_up_plant",
            Machine::BalancingStand => "balancing_stand",
            Machine::InspectionBench => "inspection_bench",
        }
    }
}
