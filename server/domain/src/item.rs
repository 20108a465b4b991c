//! What the catalogue says of an item: its kind, and its features with nominal size and limits.

use crate::bearings::iso492;
use crate::iso286;
use crate::named::named_enum;
use crate::units::{Length, Unit};

named_enum! {
    /// The kinds of item that the shop keeps.
    ItemKind, "kind of item" {
        /// A shaft.
        Shaft = "shaft",
        /// A rolling bearing.
        RollingBearing = "rolling_bearing",
        /// A plain bushing.
        Bushing = "bushing",
        /// A housing or end bell.
        Housing = "housing",
        /// A key.
        Key = "key",
        /// A retaining ring.
        RetainingRing = "retaining_ring",
        /// A shaft seal.
        Seal = "seal",
        /// A washer.
        Washer = "washer",
        /// Anything else.
        Other = "other",
    }
}

named_enum! {
    /// The kinds of measurable place on a part.
    FeatureKind, "kind of feature" {
        /// A journal that a bushing, sleeve or disc slides on: its mate adjusts.
        Journal = "journal",
        /// A seat for the inner ring of a rolling bearing: never ground undersize.
        RollingSeat = "rolling_seat",
        /// A bore that takes a bearing's or bushing's outside diameter.
        HousingBore = "housing_bore",
        /// The bore of a bearing or bushing.
        Bore = "bore",
        /// The outside diameter of a bearing, bushing or seal.
        OutsideDiameter = "outside_diameter",
        /// A width or length along the axis.
        Width = "width",
        /// The width of a keyseat.
        Keyseat = "keyseat",
        /// The land that a seal lip runs on.
        SealLand = "seal_land",
        /// A shaft extension that takes a coupling, pulley or impeller.
        ShaftExtension = "shaft_extension",
    }
}

/// Which way a feature wears, and which side of a fit it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Side {
    /// A shaft-like feature: wear makes it smaller.
    External,
    /// A bore-like feature: wear makes it larger.
    Internal,
}

impl FeatureKind {
    /// The side of this feature in a fit. A width is taken as external, a keyseat as internal.
    pub const fn side(self) -> Side {
        match self {
            FeatureKind::Journal
            | FeatureKind::RollingSeat
            | FeatureKind::OutsideDiameter
            | FeatureKind::Width
            | FeatureKind::SealLand
            | FeatureKind::ShaftExtension => Side::External,
            FeatureKind::HousingBore | FeatureKind::Bore | FeatureKind::Keyseat => Side::Internal,
        }
    }
}

/// The smallest and the largest size allowed, both inclusive.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Limits {
    /// Smallest size allowed.
    pub lower: Length,
    /// Largest size allowed.
    pub upper: Length,
}

/// How the limits of a feature's size are given.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Tolerance {
    /// No limits are known.
    None,
    /// An ISO 286 tolerance class such as `k5` or `H7`.
    Class(iso286::Class),
    /// The mean bore or outside diameter of an ISO 492 radial bearing ring.
    Iso492(iso492::ToleranceClass),
    /// Explicit limits of size.
    Explicit(Limits),
}

/// A measurable place on an item, with what the shop accepts there.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Feature {
    /// The name of the place, unique on the item, for example `seat-a`.
    pub name: String,
    /// What kind of place it is.
    pub kind: FeatureKind,
    /// The nominal (basic) size.
    pub nominal: Length,
    /// The limits of size.
    pub tolerance: Tolerance,
    /// The most wear that the shop accepts, on diameter.
    pub wear_limit: Option<Length>,
    /// The size past which reconditioning is not worth starting: smallest for an external feature,
    /// largest for an internal one.
    pub recondition_limit: Option<Length>,
    /// The most out-of-round accepted, as the difference of two diameters at one station.
    pub out_of_round_limit: Option<Length>,
    /// The most taper accepted, as the difference of two diameters along the axis.
    pub taper_limit: Option<Length>,
    /// The station that does not wear, if the item has one by design.
    pub reference_station: Option<String>,
    /// Where the limits come from, in the shop's words.
    pub limit_source: String,
}

/// Why the limits of a feature cannot be worked out.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum LimitsError {
    /// ISO 286 has no such class at the nominal size.
    #[error(transparent)]
    Iso286(#[from] iso286::Iso286Error),
    /// ISO 492 has no such ring at the nominal size.
    #[error(transparent)]
    Iso492(#[from] iso492::Iso492Error),
    /// A hole class on a shaft or the reverse.
    #[error("class {class} is for {}; a {kind} takes {}", side_name(class.side()), side_name(kind.side()))]
    WrongSide {
        /// The class given.
        class: iso286::Class,
        /// The kind of feature it was given for.
        kind: FeatureKind,
    },
    /// A ring tolerance on a place that is no ring.
    #[error("an ISO 492 class is allowed on a bore or an outside_diameter only, not on a {kind}")]
    NoRing {
        /// The kind of feature it was given for.
        kind: FeatureKind,
    },
    /// Explicit limits in the wrong order.
    #[error(
        "the smallest size allowed ({}) is above the largest ({})",
        limits.lower.display_in(Unit::Millimetre), limits.upper.display_in(Unit::Millimetre)
    )]
    Reversed {
        /// The limits given.
        limits: Limits,
    },
}

const fn side_name(side: Side) -> &'static str {
    match side {
        Side::External => "a shaft (small letters, such as k5)",
        Side::Internal => "a hole (capitals, such as H7)",
    }
}

impl Feature {
    /// The limits of size and where they come from; nothing if no tolerance is known.
    ///
    /// ```
    /// use tenths_domain::item::{Feature, FeatureKind, Tolerance};
    /// use tenths_domain::units::Length;
    /// let seat = Feature {
    ///     name: "seat-a".into(),
    ///     kind: FeatureKind::RollingSeat,
    ///     nominal: Length::from_nm(30_000_000),
    ///     tolerance: Tolerance::Class("k5".parse()?),
    ///     wear_limit: None,
    ///     recondition_limit: None,
    ///     out_of_round_limit: None,
    ///     taper_limit: None,
    ///     reference_station: None,
    ///     limit_source: String::new(),
    /// };
    /// let (limits, source) = seat.limits()?.expect("a class gives limits");
    /// assert_eq!(limits.lower, Length::from_nm(30_002_000));
    /// assert_eq!(source, "k5 at 30.0000 mm, ISO 286-1:2010, Tables 1 and 5");
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn limits(&self) -> Result<Option<(Limits, String)>, LimitsError> {
        let nominal = self.nominal.display_in(Unit::Millimetre);
        match &self.tolerance {
            Tolerance::None => Ok(None),
            // A width may be that of a ring or of a groove; every other place has one side.
            Tolerance::Class(class)
                if class.side() != self.kind.side() && self.kind != FeatureKind::Width =>
            {
                Err(LimitsError::WrongSide { class: *class, kind: self.kind })
            }
            Tolerance::Class(class) => {
                let limits = iso286::limits(self.nominal, class)?;
                Ok(Some((limits, format!("{class} at {nominal}, {}", iso286::source(class)))))
            }
            Tolerance::Iso492(class) => {
                let deviations = match self.kind {
                    FeatureKind::Bore => iso492::mean_bore_deviations(self.nominal, *class)?,
                    FeatureKind::OutsideDiameter => {
                        iso492::mean_outside_diameter_deviations(self.nominal, *class)?
                    }
                    kind => return Err(LimitsError::NoRing { kind }),
                };
                let source = format!("ring of class {class} at {nominal}, ISO 492:2014");
                Ok(Some((deviations.about(self.nominal), source)))
            }
            Tolerance::Explicit(limits) if limits.lower > limits.upper => {
                Err(LimitsError::Reversed { limits: *limits })
            }
            Tolerance::Explicit(limits) => Ok(Some((*limits, self.limit_source.clone()))),
        }
    }

    /// The limits of size alone; nothing also where they cannot be worked out.
    pub fn known_limits(&self) -> Option<Limits> {
        self.limits().ok().flatten().map(|(limits, _)| limits)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(kind: FeatureKind, tolerance: Tolerance) -> Result<Option<(i64, i64)>, String> {
        let feature = Feature {
            name: "place".into(),
            kind,
            nominal: Length::from_nm(62_000_000),
            tolerance,
            wear_limit: None,
            recondition_limit: None,
            out_of_round_limit: None,
            taper_limit: None,
            reference_station: None,
            limit_source: "drawing 7".into(),
        };
        let limits = feature.limits().map_err(|error| error.to_string())?;
        Ok(limits.map(|(limits, _)| (limits.lower.nm(), limits.upper.nm())))
    }

    fn class(text: &str) -> Tolerance {
        Tolerance::Class(text.parse().unwrap())
    }

    #[test]
    fn every_way_of_giving_limits_is_worked_out() {
        let ring = Tolerance::Iso492(iso492::ToleranceClass::Normal);
        let given = Limits { lower: Length::from_nm(1), upper: Length::from_nm(2) };
        assert_eq!(check(FeatureKind::Journal, Tolerance::None), Ok(None));
        assert_eq!(check(FeatureKind::Journal, Tolerance::Explicit(given)), Ok(Some((1, 2))));
        // H6 at 62 mm: 0 to +19 um (ISO 286-2:2010, Table 6); Normal ring, over 50 to 80 mm:
        // 0 to -13 um outside and 0 to -15 um inside (ISO 492:2014, Tables 1 and 2).
        assert_eq!(
            check(FeatureKind::HousingBore, class("H6")),
            Ok(Some((62_000_000, 62_019_000)))
        );
        assert_eq!(
            check(FeatureKind::OutsideDiameter, ring.clone()),
            Ok(Some((61_987_000, 62_000_000)))
        );
        assert_eq!(check(FeatureKind::Bore, ring), Ok(Some((61_985_000, 62_000_000))));
    }

    #[test]
    fn limits_without_meaning_say_why() {
        let ring = Tolerance::Iso492(iso492::ToleranceClass::Normal);
        let reversed =
            Limits { lower: Length::from_nm(2_000_000), upper: Length::from_nm(1_000_000) };
        for (kind, tolerance, message) in [
            (
                FeatureKind::Journal,
                class("H7"),
                "class H7 is for a hole (capitals, such as H7); a journal takes a shaft (small \
                 letters, such as k5)",
            ),
            (
                FeatureKind::Journal,
                ring,
                "an ISO 492 class is allowed on a bore or an outside_diameter only, not on a \
                 journal",
            ),
            (
                FeatureKind::Journal,
                Tolerance::Explicit(reversed),
                "the smallest size allowed (2.0000 mm) is above the largest (1.0000 mm)",
            ),
        ] {
            assert_eq!(check(kind, tolerance), Err(message.to_owned()));
        }
        assert!(check(FeatureKind::Width, class("H7")).is_ok());
        assert!(check(FeatureKind::Width, class("h7")).is_ok());
    }
}
