//! What a feature is used for, where the policy must tell more apart than the catalogue does.

use crate::item::FeatureKind;
use crate::named::named_enum;

named_enum! {
    /// What a feature is used for. The catalogue's kinds, with journals told apart: one that a disc
    /// slides along wears in another way than one that turns in a bushing.
    FeatureUse, "use of a feature" {
        /// A journal that a disc or sleeve slides along.
        SlidingJournal = "sliding_journal",
        /// A journal that turns in a plain bearing or bushing.
        PlainJournal = "plain_journal",
        /// A seat for the inner ring of a rolling bearing.
        RollingSeat = "rolling_seat",
        /// The land that a seal lip runs on.
        SealLand = "seal_land",
        /// A bore that takes a bearing's or bushing's outside diameter.
        HousingBore = "housing_bore",
        /// A keyseat, by its width.
        Keyseat = "keyseat",
        /// A shaft extension.
        ShaftExtension = "shaft_extension",
    }
}

impl FeatureUse {
    /// The use of a kind of feature; of a journal, the plain one unless the caller knows that it
    /// slides. A bearing's or bushing's own bore and outside diameter, and a width, have none: they
    /// are reused or replaced.
    ///
    /// ```
    /// use tenths_domain::item::FeatureKind;
    /// use tenths_domain::policy::FeatureUse;
    /// assert_eq!(FeatureUse::of(FeatureKind::Journal), Some(FeatureUse::PlainJournal));
    /// assert_eq!(FeatureUse::of(FeatureKind::Width), None);
    /// ```
    pub const fn of(kind: FeatureKind) -> Option<FeatureUse> {
        match kind {
            FeatureKind::Journal => Some(FeatureUse::PlainJournal),
            FeatureKind::RollingSeat => Some(FeatureUse::RollingSeat),
            FeatureKind::HousingBore => Some(FeatureUse::HousingBore),
            FeatureKind::Keyseat => Some(FeatureUse::Keyseat),
            FeatureKind::SealLand => Some(FeatureUse::SealLand),
            FeatureKind::ShaftExtension => Some(FeatureUse::ShaftExtension),
            FeatureKind::Bore | FeatureKind::OutsideDiameter | FeatureKind::Width => None,
        }
    }

    /// The kind of feature that has this use.
    pub const fn kind(self) -> FeatureKind {
        match self {
            FeatureUse::SlidingJournal | FeatureUse::PlainJournal => FeatureKind::Journal,
            FeatureUse::RollingSeat => FeatureKind::RollingSeat,
            FeatureUse::SealLand => FeatureKind::SealLand,
            FeatureUse::HousingBore => FeatureKind::HousingBore,
            FeatureUse::Keyseat => FeatureKind::Keyseat,
            FeatureUse::ShaftExtension => FeatureKind::ShaftExtension,
        }
    }

    /// Whether it may be ground to an undersize step: only where the mate adjusts (a bushing, a
    /// disc or a hub sleeve made to suit, a seal lip). Never a seat for a rolling bearing, whose
    /// bores come in fixed sizes. Common practice, no published source.
    pub const fn may_go_undersize(self) -> bool {
        matches!(self, FeatureUse::SlidingJournal | FeatureUse::PlainJournal | FeatureUse::SealLand)
    }
}
