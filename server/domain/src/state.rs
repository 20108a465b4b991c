//! Where things stand, and along which ways they may move.

use crate::named::named_enum;

named_enum! {
    /// Who owns a core.
    OwnerKind, "owner" {
        /// The shop.
        Shop = "shop",
        /// A customer.
        Customer = "customer",
    }
}

named_enum! {
    /// The grade of a core, at the door or at teardown. Common practice, no published source.
    CoreGrade, "core grade" {
        /// Complete, turns, no build-up expected.
        A = "a",
        /// Complete, one seat worn.
        B = "b",
        /// Needs a major part.
        C = "c",
        /// Parts donor.
        D = "d",
        /// Reject.
        R = "r",
    }
}

named_enum! {
    /// Where a core stands.
    CoreState, "core state" {
        /// In the shop as one unit.
        Received = "received",
        /// Turned into pieces.
        TornDown = "torn_down",
    }
}

named_enum! {
    /// What a location is for.
    LocationKind, "kind of location" {
        /// A shelf or bin of the parts room.
        Shelf = "shelf",
        /// Receiving hold.
        Receiving = "receiving",
        /// The core yard.
        CoreYard = "core_yard",
        /// Teardown, wash or inspection bench.
        Bench = "bench",
        /// The rack in front of the reconditioning machines.
        QueueRack = "queue_rack",
        /// At an outside vendor.
        Vendor = "vendor",
        /// A kit shelf.
        Kit = "kit",
        /// Quarantine.
        Quarantine = "quarantine",
    }
}

named_enum! {
    /// Whether a part was built up before.
    BuiltUp, "built-up answer" {
        /// Not known.
        Unknown = "unknown",
        /// It was.
        Yes = "yes",
        /// It was not.
        No = "no",
    }
}

named_enum! {
    /// The condition of a piece.
    PieceCondition, "piece condition" {
        /// New, never fitted.
        New = "new",
        /// Used, from a core.
        Used = "used",
        /// Used and reconditioned.
        Reconditioned = "reconditioned",
    }
}

named_enum! {
    /// Where a piece stands.
    PieceState, "piece state" {
        /// To be measured and judged, or for decision.
        Inspection = "inspection",
        /// In stock.
        InStock = "in_stock",
        /// In the reconditioning queue or being worked on.
        Reconditioning = "reconditioning",
        /// Consumed by a rebuild.
        Consumed = "consumed",
        /// Scrapped.
        Scrapped = "scrapped",
    }
}

impl PieceState {
    /// Whether a piece may move from this state to `next`. Consumed and scrapped are final.
    ///
    /// ```
    /// use tenths_domain::state::PieceState;
    /// assert!(PieceState::Inspection.may_become(PieceState::InStock));
    /// assert!(!PieceState::Scrapped.may_become(PieceState::InStock));
    /// ```
    pub const fn may_become(self, next: PieceState) -> bool {
        use PieceState::*;
        matches!(
            (self, next),
            (Inspection, InStock | Reconditioning | Scrapped)
                | (InStock, Inspection | Reconditioning | Consumed | Scrapped)
                | (Reconditioning, InStock | Inspection | Reconditioning | Scrapped)
        )
    }

    /// Whether the piece is still somewhere in the shop, at one location.
    pub const fn is_in_shop(self) -> bool {
        !matches!(self, PieceState::Consumed | PieceState::Scrapped)
    }
}

named_enum! {
    /// Why stock moved.
    LedgerReason, "ledger reason" {
        /// Came into the shop.
        Receive = "receive",
        /// A core became pieces.
        Teardown = "teardown",
        /// Moved between locations.
        Move = "move",
        /// Consumed by a rebuild.
        Consume = "consume",
        /// Scrapped.
        Scrap = "scrap",
        /// Count corrected.
        Adjust = "adjust",
    }
}

named_enum! {
    /// Whether a gauge may be used.
    GaugeState, "gauge state" {
        /// In use.
        InUse = "in_use",
        /// Found wrong: its readings are in doubt.
        FoundWrong = "found_wrong",
        /// Retired.
        Retired = "retired",
    }
}

named_enum! {
    /// How a feature is to be reconditioned.
    Method, "method" {
        /// Polish.
        Polish = "polish",
        /// Grind undersize.
        Regrind = "regrind",
        /// Build up and grind back.
        BuildUp = "build_up",
        /// Sleeve.
        Sleeve = "sleeve",
        /// Straighten.
        Straighten = "straighten",
        /// Ream or hone a bore.
        Hone = "hone",
        /// Fit a stepped key to a worn keyseat.
        FitKey = "fit_key",
        /// Cut a keyseat to the next wider key.
        CutKeyseat = "cut_keyseat",
    }
}

impl Method {
    /// Whether it leaves a layer or a sleeve on the part.
    pub const fn adds_metal(self) -> bool {
        matches!(self, Method::BuildUp | Method::Sleeve)
    }
}

named_enum! {
    /// Where a recon job stands.
    JobState, "job state" {
        /// Waiting for a worker.
        Queued = "queued",
        /// Claimed under a lease.
        Claimed = "claimed",
        /// Its piece is at a vendor.
        Away = "away",
        /// Ended.
        Done = "done",
    }
}

named_enum! {
    /// Where an operation of a recon job stands. It ends exactly once.
    OperationState, "operation state" {
        /// Others come first.
        Waiting = "waiting",
        /// Next: it may be claimed, or sent out.
        Ready = "ready",
        /// Being worked on.
        Started = "started",
        /// Begun and laid aside.
        Paused = "paused",
        /// At the vendor.
        Sent = "sent",
        /// Done.
        Done = "done",
        /// Could not be done: a person decides what becomes of the piece.
        Rejected = "rejected",
        /// Never done: the job ended before it.
        Skipped = "skipped",
    }
}

impl OperationState {
    /// Whether nothing more happens to it.
    ///
    /// ```
    /// use tenths_domain::state::OperationState;
    /// assert!(OperationState::Rejected.has_ended());
    /// assert!(!OperationState::Sent.has_ended());
    /// ```
    pub const fn has_ended(self) -> bool {
        matches!(self, OperationState::Done | OperationState::Rejected | OperationState::Skipped)
    }
}

named_enum! {
    /// Why an operation was rejected. Words in general use in the trade; no published source.
    RejectReason, "reject reason" {
        /// Will not clean up at the size asked for.
        WillNotCleanUp = "will_not_clean_up",
        /// Below minimum diameter.
        BelowMinimumDiameter = "below_minimum_diameter",
        /// Not within the size asked for.
        OutOfTolerance = "out_of_tolerance",
        /// Runs out beyond what is allowed.
        RunOut = "run_out",
        /// Bent beyond straightening.
        Bent = "bent",
        /// Cracked.
        Crack = "crack",
        /// Burnt in grinding.
        GrindingBurn = "grinding_burn",
        /// What was put on does not hold: it flakes, blisters or is pitted.
        PoorBond = "poor_bond",
        /// Not enough was put on to finish it.
        TooThin = "too_thin",
        /// Baked late, or without a record of it.
        NotBaked = "not_baked",
        /// Pitted or corroded.
        Corrosion = "corrosion",
        /// Damaged in handling.
        Handling = "handling",
        /// Not the part, or not the place, that the job names.
        WrongPart = "wrong_part",
        /// Something else: the note says what.
        Other = "other",
    }
}

named_enum! {
    /// Where a line of a send-out stands; it ends exactly once.
    SendOutLineState, "state of a send-out line" {
        /// At the vendor.
        Out = "out",
        /// Back.
        Returned = "returned",
        /// The vendor will not return it.
        Short = "short",
    }
}

named_enum! {
    /// How a recon job ended.
    JobOutcome, "job outcome" {
        /// The piece went into stock.
        ToStock = "to_stock",
        /// Not good yet: a new job follows.
        Rework = "rework",
        /// The re-measurement does not say: a person decides.
        ForDecision = "for_decision",
        /// The piece was scrapped.
        Scrapped = "scrapped",
    }
}

named_enum! {
    /// Why a part was scrapped. Words in general use in the trade; no published source.
    ScrapReason, "scrap reason" {
        /// Below minimum diameter.
        BelowMinimumDiameter = "below_minimum_diameter",
        /// Will not clean up at the largest undersize.
        WillNotCleanUp = "will_not_clean_up",
        /// Bent beyond straightening.
        Bent = "bent",
        /// Cracked.
        Crack = "crack",
        /// Damage from a spun race.
        SpunRace = "spun_race",
        /// Keyway beyond repair.
        Keyway = "keyway",
        /// Thread damage.
        Thread = "thread",
        /// Heat discoloured.
        Heat = "heat",
        /// Pitted or corroded.
        Corrosion = "corrosion",
        /// Scored or fretted.
        Scored = "scored",
        /// Prior repair unsound.
        PriorRepair = "prior_repair",
        /// Damaged in handling.
        Handling = "handling",
        /// Not economical to recondition.
        NotEconomical = "not_economical",
        /// Lost.
        Lost = "lost",
        /// No demand.
        NoDemand = "no_demand",
    }
}

named_enum! {
    /// Where a rebuild stands.
    RebuildState, "rebuild state" {
        /// Open.
        Open = "open",
        /// Shipped.
        Shipped = "shipped",
        /// Cancelled.
        Cancelled = "cancelled",
    }
}

named_enum! {
    /// Where a hold stands; it ends exactly once.
    ReservationState, "reservation state" {
        /// Held.
        Active = "active",
        /// Given back.
        Released = "released",
        /// Ran out.
        Expired = "expired",
        /// Consumed.
        Consumed = "consumed",
    }
}

#[cfg(test)]
mod tests {
    use super::PieceState::{self, *};

    /// Goal: a gone piece never comes back; method: every pair of states.
    #[test]
    fn consumed_and_scrapped_are_final() {
        for next in PieceState::ALL {
            assert!(!Consumed.may_become(*next));
            assert!(!Scrapped.may_become(*next));
        }
    }

    #[test]
    fn a_piece_is_consumed_only_from_stock() {
        let from: Vec<_> = PieceState::ALL.iter().filter(|s| s.may_become(Consumed)).collect();
        assert_eq!(from, [&InStock]);
    }
}
