//! The ends of a part that must fit: one, or both at once, a bushing's bore as it will be once
//! pressed.

use super::act::{self, Gap, Pair};
use super::question::{Candidate, OtherEnd, OtherFeature, OtherFit, Place, Question};
use crate::bearings::iso492::ToleranceClass;
use crate::bushings::{self, Bushing, BushingError, Housing};
use crate::fit::{
    ClearanceWindow, FitError, FitJudgement, Requirement, SizeBelief, clearance_range,
    installed_bore, is_proven_in, judge,
};
use crate::item::{FeatureKind, ItemKind, Side};
use crate::units::Length;
use crate::verdict::Verdict;

/// One side of a fit: where it is, its size, and its ring class if it is a bearing.
type PlaceSize = (Place, SizeBelief, Option<ToleranceClass>);

/// A measured place and a candidate's place as the two sides of a fit.
pub(super) struct Pairing {
    internal: Place,
    external: Place,
    bore: SizeBelief,
    shaft: SizeBelief,
    pub(super) window: ClearanceWindow,
    /// How much of the clearance is unknown only because a part was not measured.
    unmeasured: Length,
    pub(super) gap: Gap,
}

impl Pairing {
    fn new(
        measured: PlaceSize,
        found: PlaceSize,
        requirement: &Requirement,
        nominal: Length,
        installed: Option<SizeBelief>,
    ) -> Result<Self, FitError> {
        let (inner, outer) = match measured.0.feature.side() {
            Side::Internal => (measured, found),
            Side::External => (found, measured),
        };
        let ((internal, free_bore, bore_ring), (external, shaft, shaft_ring)) = (inner, outer);
        let window = requirement.window(nominal, bore_ring.or(shaft_ring))?;
        let bore = installed.unwrap_or(free_bore);
        let unmeasured = [free_bore, shaft].into_iter().filter(|size| !size.is_measured());
        let unmeasured = unmeasured.map(|size| size.largest() - size.smallest()).sum();
        let gap = Gap::new(&bore, &shaft, window);
        Ok(Pairing { internal, external, bore, shaft, window, unmeasured, gap })
    }

    pub(super) fn judge(&self) -> FitJudgement {
        judge(&self.bore, &self.shaft, self.window)
    }

    /// The cheapest act that closes the gap, if the trade allows one.
    pub(super) fn act(&self, fit: &FitJudgement) -> Option<super::Act> {
        act::cheapest(&Pair {
            internal: self.internal,
            external: self.external,
            gap: self.gap,
            unmeasured: self.unmeasured,
            probability_in: fit.judgement.probability_in,
        })
    }

    /// Whether it is judged as proven in.
    fn is_proven_in(&self) -> bool {
        is_proven_in(&self.bore, &self.shaft, self.window)
    }

    /// How far the middle of the clearance lies off the middle of the window, times two.
    fn off_centre(&self) -> Length {
        let (min, max) = clearance_range(&self.bore, &self.shaft);
        (min + max - (self.window.min + self.window.max)).abs()
    }

    /// This end as the answer tells it; it misses unless it is inside and not improbable.
    pub(super) fn as_other(&self, fit: FitJudgement) -> OtherFit {
        let fits = super::is_fit(self.gap, &fit);
        OtherFit {
            window: self.window,
            by: self.gap.by(),
            side: (!fits).then(|| self.gap.side()),
            act: if fits { None } else { self.act(&fit) },
            fit,
        }
    }
}

/// A candidate against the question, at one end or at both.
pub(super) struct Ends {
    pub(super) first: Pairing,
    pub(super) other: Option<Pairing>,
    /// A bushing's bore once pressed, where it was worked out.
    pub(super) installed: Option<SizeBelief>,
}

impl Ends {
    pub(super) fn new<K>(
        question: &Question,
        candidate: &Candidate<'_, K>,
    ) -> Result<Self, FitError> {
        let measured = (question.place, question.size, question.ring);
        let found = (candidate.place, candidate.size, candidate.ring);
        let other = match (&question.other, &candidate.other) {
            (None, _) => None,
            (Some(end), Some(feature)) => Some((end, feature)),
            // Nothing is known of the place that the other end needs.
            (Some(_), None) => return Err(FitError::NoBound),
        };
        let installed = match other {
            Some((end, feature)) => pressed(candidate, end, feature)?,
            None => None,
        };
        let installed = match (installed, question.close_in) {
            (None, Some(close_in)) => free_bore(measured, found)
                .map(|bore| installed_bore(&bore, close_in))
                .transpose()?,
            (installed, _) => installed,
        };
        let first =
            Pairing::new(measured, found, &question.requirement, candidate.nominal, installed)?;
        let other = other.map(|(end, feature)| {
            let place = Place { feature: feature.feature, ..candidate.place };
            let found = (place, feature.size, feature.ring);
            let measured = (end.place, end.size, None);
            Pairing::new(measured, found, &end.requirement, feature.nominal, None)
        });
        Ok(Ends { first, other: other.transpose()?, installed })
    }
}

/// How both ends fit.
#[derive(Clone, Copy)]
pub(super) struct BothFits {
    pub(super) first: FitJudgement,
    other: Option<FitJudgement>,
}

impl BothFits {
    /// The worse of both.
    pub(super) fn verdict(&self) -> Verdict {
        let first = self.first.judgement.verdict;
        self.other.map_or(first, |other| first.max(other.judgement.verdict))
    }
}

impl Ends {
    pub(super) fn judge(&self) -> BothFits {
        BothFits { first: self.first.judge(), other: self.other.as_ref().map(Pairing::judge) }
    }

    /// The worse verdict of both; a probability is worked out only where it matters.
    pub(super) fn verdict(&self) -> Verdict {
        let is_proven = |end: &Pairing| end.is_proven_in();
        match is_proven(&self.first) && self.other.as_ref().is_none_or(is_proven) {
            true => Verdict::ProvenIn,
            false => self.judge().verdict(),
        }
    }

    /// How far both are off the middle of their windows.
    pub(super) fn off_centre(&self) -> Length {
        let other = self.other.as_ref().map_or(Length::ZERO, Pairing::off_centre);
        self.first.off_centre() + other
    }

    pub(super) fn as_other(&self, both: &BothFits) -> Option<OtherFit> {
        self.other.as_ref().zip(both.other).map(|(pairing, fit)| pairing.as_other(fit))
    }
}

/// The bore of a bushing, if one of the two places is that.
fn free_bore(measured: PlaceSize, found: PlaceSize) -> Option<SizeBelief> {
    let is_bore =
        |place: &Place| place.item == ItemKind::Bushing && place.feature == FeatureKind::Bore;
    [measured, found].into_iter().find(|(place, ..)| is_bore(place)).map(|(_, size, _)| size)
}

/// The bore of a bushing once it is in this housing; nothing for other parts, and for a bushing that
/// may be loose there, whose bore stays as it is.
fn pressed<K>(
    candidate: &Candidate<'_, K>,
    end: &OtherEnd,
    feature: &OtherFeature,
) -> Result<Option<SizeBelief>, FitError> {
    let Some(outside_diameter) =
        end.housing_outside.filter(|_| candidate.place.item == ItemKind::Bushing)
    else {
        return Ok(None);
    };
    let unknown = FitError::NotPossible {
        what: "an unknown material",
        length: candidate.nominal,
        allowed: "a bushing and a housing whose materials are known",
    };
    let (Some(material), Some(of_housing)) = (candidate.place.material, end.place.material) else {
        return Err(unknown);
    };
    let bushing = Bushing { bore: candidate.size, outside_diameter: feature.size, material };
    let housing = Housing { bore: end.size, outside_diameter, material: of_housing };
    match bushings::close_in(&bushing, &housing) {
        Ok(pressed) => Ok(Some(pressed.installed_bore)),
        Err(BushingError::MayBeLoose { .. }) => Ok(None),
        Err(BushingError::Size(error)) => Err(error),
        Err(BushingError::OneSided { .. } | BushingError::Cylinders(_)) => Err(unknown),
    }
}
