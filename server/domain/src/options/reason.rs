//! Why an option is not possible, and what is in doubt about one that is.

use crate::named::named_enum;

named_enum! {
    /// Why an option is not possible.
    BlockCode, "reason that blocks" {
        /// A person has condemned the part.
        Condemned = "condemned",
        /// Not done on such a place.
        NotForThisPlace = "not_for_this_place",
        /// A rolling bearing's seat, or a place whose mate does not adjust, is never undersize.
        NeverUndersize = "never_undersize",
        /// No limit that governs is set.
        NoLimit = "no_limit",
        /// Wear could not be counted.
        WearUnknown = "wear_unknown",
        /// More wear than the limit.
        Worn = "worn",
        /// Beyond a limit of size.
        OutOfSize = "out_of_size",
        /// Out-of-round, taper or run-out beyond its limit.
        Form = "form",
        /// Scored or pitted.
        Scored = "scored",
        /// No metal to spare within the limits of size.
        NoMetalToSpare = "no_metal_to_spare",
        /// Will not clean up at this size.
        WillNotCleanUp = "will_not_clean_up",
        /// Below the smallest diameter, or beyond the largest bore.
        BelowMinimum = "below_minimum",
        /// More metal off than the policy allows.
        StockRemoval = "stock_removal",
        /// Thicker than the method builds.
        TooThick = "too_thick",
        /// The policy has no such method or figure.
        NotInPolicy = "not_in_policy",
        /// The wrong end of the shaft for the method.
        WrongEnd = "wrong_end",
        /// A keyway or thread runs through, which the method does not hold.
        KeywayThere = "keyway_there",
        /// Too hard for the method.
        TooHard = "too_hard",
        /// Costs more than its share of a replacement.
        NotEconomical = "not_economical",
        /// There is none to be had.
        NotAvailable = "not_available",
    }
}

named_enum! {
    /// What is in doubt.
    DoubtCode, "doubt" {
        /// Run-out was not measured, taken as none; or counted as straightened.
        RunOut = "run_out",
        /// Whether it was built up before is not known, or it was.
        BuiltUp = "built_up",
        /// Hardness is not known.
        Hardness = "hardness",
        /// The depth of a hardened case is not known.
        CaseDepth = "case_depth",
        /// No torque, shoulder or stated limit is known: the smallest diameter may be too small.
        Strength = "strength",
        /// Form was not measured.
        Form = "form",
        /// The end of the shaft is not known.
        End = "end",
        /// No tolerance is known for the finished size; what needs one is not possible since.
        Tolerance = "tolerance",
        /// The gauge cannot tell: the margin is within its uncertainty.
        Uncertainty = "uncertainty",
        /// Reused past its limit of size by the shop's policy.
        PastLimit = "past_limit",
        /// How much metal is around a bore is not known.
        Wall = "wall",
        /// Two sizes of key, or a wider keyseat.
        Keyseat = "keyseat",
        /// An amount is in another currency than the policy's.
        Currency = "currency",
        /// What limits the place is not set: decide before anything is scrapped.
        NoLimit = "no_limit",
    }
}

/// Why an option is not possible.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Block {
    /// The reason.
    pub code: BlockCode,
    /// In words, with the values.
    pub text: String,
}

/// What is in doubt about an option.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Doubt {
    /// What.
    pub code: DoubtCode,
    /// In words, with what to do about it.
    pub text: String,
}
