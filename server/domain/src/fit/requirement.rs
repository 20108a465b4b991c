//! What a fit must be, and the window of clearance that this comes to at one nominal size.

use std::fmt;
use std::str::FromStr;

use super::FitError;
use crate::b41::{self, FitClass};
use crate::bearings::iso492::{self, ToleranceClass};
use crate::bushings::{RunningClearance, RunningRule};
use crate::iso286::{self, Class, ClassParseError, Deviations};
use crate::item::Side;
use crate::named::named_enum;
use crate::seats::{Duty, Recommendation, housing_seat, shaft_seat};
use crate::units::Length;

named_enum! {
    /// The kind of a fit (ISO 286-1:2010, 3.3).
    FitKind, "kind of fit" {
        /// Always clearance, or none at the tightest.
        Clearance = "clearance",
        /// Clearance or interference, by where the sizes lie.
        Transition = "transition",
        /// Always interference, or none at the loosest.
        Interference = "interference",
    }
}

/// The clearance that a requirement allows, on diameter, both ends inclusive; negative is
/// interference.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct ClearanceWindow {
    /// Least clearance, or most interference, allowed.
    pub min: Length,
    /// Most clearance, or least interference, allowed.
    pub max: Length,
}

impl ClearanceWindow {
    /// A window with its ends in order.
    pub fn new(min: Length, max: Length) -> Result<Self, FitError> {
        if min > max {
            return Err(FitError::Reversed { what: "clearance limits", low: min, high: max });
        }
        Ok(ClearanceWindow { min, max })
    }

    /// Whether this is a clearance, transition or interference fit.
    ///
    /// ```
    /// use tenths_domain::fit::{ClearanceWindow, FitKind};
    /// use tenths_domain::units::Length;
    /// let window = |min, max| ClearanceWindow::new(Length::from_nm(min), Length::from_nm(max));
    /// assert_eq!(window(0, 9).unwrap().kind(), FitKind::Clearance);
    /// assert_eq!(window(-9, 0).unwrap().kind(), FitKind::Interference);
    /// assert!(window(9, 0).is_err());
    /// ```
    pub fn kind(self) -> FitKind {
        if self.min >= Length::ZERO {
            FitKind::Clearance
        } else if self.max <= Length::ZERO {
            FitKind::Interference
        } else {
            FitKind::Transition
        }
    }
}

/// What a fit must be.
///
/// ```
/// use tenths_domain::fit::Requirement;
/// use tenths_domain::units::Length;
/// let fit: Requirement = "H7/k6".parse().unwrap();
/// let window = fit.window(Length::from_nm(25_000_000), None).unwrap();
/// assert_eq!((window.min.nm(), window.max.nm()), (-15_000, 19_000));
/// ```
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Requirement(Kind);

#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
enum Kind {
    ClassPair { hole: Class, shaft: Class },
    ShaftOnRing { shaft: Class },
    HoleOnRing { hole: Class },
    InchFit(FitClass),
    Running { rule: RunningRule, tolerance: Length },
    Clearance(ClearanceWindow),
    ShaftByDuty(Duty),
    HoleByDuty(Duty),
    RunningByAnyRule,
    Press,
}

/// Least interference of a press fit, for each inch of diameter in thousandths of an inch, times
/// two. Common practice, no published source: 0.0005 in/in to 0.002 in/in.
const PRESS_LEAST_HALF_THOU: i64 = 1;
/// Most interference, as [`PRESS_LEAST_HALF_THOU`].
const PRESS_MOST_HALF_THOU: i64 = 4;

impl Requirement {
    /// By tolerance classes. With a shaft class alone the hole is the bore of a bearing's inner
    /// ring; with a hole class alone the shaft side is the outside diameter of its outer ring.
    pub fn classes(hole: Option<Class>, shaft: Option<Class>) -> Result<Self, FitError> {
        for (class, side) in [(hole, Side::Internal), (shaft, Side::External)] {
            if let Some(class) = class.filter(|class| class.side() != side) {
                return Err(FitError::WrongSide { class });
            }
        }
        Ok(Requirement(match (hole, shaft) {
            (Some(hole), Some(shaft)) => Kind::ClassPair { hole, shaft },
            (None, Some(shaft)) => Kind::ShaftOnRing { shaft },
            (Some(hole), None) => Kind::HoleOnRing { hole },
            (None, None) => return Err(FitError::NoClass),
        }))
    }

    /// By an ANSI B4.1 fit class, which sets the limits of both sides.
    ///
    /// ```
    /// use tenths_domain::fit::Requirement;
    /// use tenths_domain::units::Length;
    /// // RC4 at 1 in: 0.8 to 2.8 thou of clearance.
    /// let rc4 = Requirement::inch_fit("RC4".parse().unwrap());
    /// let window = rc4.window(Length::from_nm(25_400_000), None).unwrap();
    /// assert_eq!((window.min.nm(), window.max.nm()), (20_320, 71_120));
    /// ```
    pub const fn inch_fit(class: FitClass) -> Self {
        Requirement(Kind::InchFit(class))
    }

    /// By a rule for the running clearance of a plain bearing on a journal of the nominal size. The
    /// rule gives one number, the least; how much more is still right is the shop's to say.
    pub const fn running(rule: RunningRule, tolerance: Length) -> Self {
        Requirement(Kind::Running { rule, tolerance })
    }

    /// By explicit limits of clearance.
    pub const fn clearance(window: ClearanceWindow) -> Self {
        Requirement(Kind::Clearance(window))
    }

    /// A bearing's inner ring on a shaft, as published practice recommends for the duty; the class
    /// depends on the size.
    pub const fn shaft_by_duty(duty: Duty) -> Self {
        Requirement(Kind::ShaftByDuty(duty))
    }

    /// A bearing's outer ring in a housing, as published practice recommends for the duty.
    pub const fn hole_by_duty(duty: Duty) -> Self {
        Requirement(Kind::HoleByDuty(duty))
    }

    /// The running clearance of a plain bearing where no rule was chosen: anything from the least
    /// to the most that the rival rules say.
    pub const fn running_by_any_rule() -> Self {
        Requirement(Kind::RunningByAnyRule)
    }

    /// A bushing pressed into its housing: interference of 0.0005 to 0.002 in for each inch of
    /// diameter (common practice, no published source).
    ///
    /// ```
    /// use tenths_domain::fit::Requirement;
    /// use tenths_domain::units::Length;
    /// let window = Requirement::press().window(Length::from_nm(25_400_000), None).unwrap();
    /// assert_eq!((window.min.nm(), window.max.nm()), (-50_800, -12_700));
    /// ```
    pub const fn press() -> Self {
        Requirement(Kind::Press)
    }

    /// The class that the duty calls for at a basic size, with its source; nothing for a
    /// requirement that is not by duty.
    ///
    /// # Errors
    /// [`FitError::Seat`] where no practice kept here has a class.
    pub fn recommended(&self, nominal: Length) -> Result<Option<Recommendation>, FitError> {
        let found = match self.0 {
            Kind::ShaftByDuty(duty) => shaft_seat(nominal, &duty)?,
            Kind::HoleByDuty(duty) => housing_seat(nominal, &duty)?,
            _ => return Ok(None),
        };
        Ok(found.into_iter().next())
    }

    /// The window at a basic size: from the smallest hole on the largest shaft to the largest hole
    /// on the smallest shaft that the classes allow. `ring` is the ISO 492 class of the bearing,
    /// needed where a class stands alone and not looked at otherwise.
    pub fn window(
        &self,
        nominal: Length,
        ring: Option<ToleranceClass>,
    ) -> Result<ClearanceWindow, FitError> {
        if let Some(recommended) = self.recommended(nominal)? {
            let alone = match recommended.class.side() {
                Side::External => Kind::ShaftOnRing { shaft: recommended.class },
                Side::Internal => Kind::HoleOnRing { hole: recommended.class },
            };
            return Requirement(alone).window(nominal, ring);
        }
        let (hole, shaft) = match self.0 {
            Kind::Clearance(window) => return Ok(window),
            Kind::RunningByAnyRule => return running_by_any_rule(nominal),
            Kind::Press => return Ok(press(nominal)),
            // Answered above.
            Kind::ShaftByDuty(_) | Kind::HoleByDuty(_) => return Err(FitError::NoClass),
            Kind::InchFit(class) => return Ok(b41::fit(nominal, class)?.window()),
            Kind::Running { rule, tolerance } => {
                return RunningClearance::ByRule { rule, tolerance }.window(nominal);
            }
            Kind::ClassPair { hole, shaft } => {
                (iso286::deviations(nominal, &hole)?, iso286::deviations(nominal, &shaft)?)
            }
            Kind::ShaftOnRing { shaft } => {
                let ring = ring.ok_or(FitError::RingNeeded { class: shaft })?;
                let bore = iso492::mean_bore_deviations(nominal, ring)?;
                (bore, iso286::deviations(nominal, &shaft)?)
            }
            Kind::HoleOnRing { hole } => {
                let ring = ring.ok_or(FitError::RingNeeded { class: hole })?;
                let outside = iso492::mean_outside_diameter_deviations(nominal, ring)?;
                (iso286::deviations(nominal, &hole)?, outside)
            }
        };
        Ok(between(hole, shaft))
    }

    /// The class that stands alone, against the ring of a bearing.
    pub const fn on_ring(&self) -> Option<Class> {
        match self.0 {
            Kind::ShaftOnRing { shaft: class } | Kind::HoleOnRing { hole: class } => Some(class),
            _ => None,
        }
    }

    /// What is irregular about the printed row that the window at a basic size is from.
    pub fn note(&self, nominal: Length) -> Option<&'static str> {
        match self.0 {
            Kind::InchFit(class) => b41::fit(nominal, class).ok()?.note,
            _ => None,
        }
    }

    /// Whether the window at a basic size rests on a value known from memory alone.
    pub fn is_unconfirmed(&self, nominal: Length) -> Result<bool, FitError> {
        if let Some(recommended) = self.recommended(nominal)? {
            return Ok(iso286::is_unconfirmed(nominal, &recommended.class)?);
        }
        Ok(match self.0 {
            Kind::ClassPair { hole, shaft } => {
                iso286::is_unconfirmed(nominal, &hole)? || iso286::is_unconfirmed(nominal, &shaft)?
            }
            Kind::ShaftOnRing { shaft: class } | Kind::HoleOnRing { hole: class } => {
                iso286::is_unconfirmed(nominal, &class)?
            }
            Kind::InchFit(class) => b41::fit(nominal, class)?.unconfirmed,
            Kind::Running { .. } | Kind::RunningByAnyRule | Kind::Clearance(_) | Kind::Press => {
                false
            }
            // Answered above.
            Kind::ShaftByDuty(_) | Kind::HoleByDuty(_) => return Err(FitError::NoClass),
        })
    }

    /// The published tables that the window rests on.
    pub fn source(&self) -> String {
        match self.0 {
            Kind::Clearance(_) => "explicit limits of clearance".to_owned(),
            Kind::ShaftByDuty(_) | Kind::HoleByDuty(_) => {
                "the class that published practice recommends for the duty; ISO 286-1:2010; \
                 ISO 492:2014"
                    .to_owned()
            }
            Kind::RunningByAnyRule => format!(
                "from the least to the most of four rules in use; {}",
                RunningRule::TwoThouPerInch.source()
            ),
            Kind::Press => "0.0005 to 0.002 in of interference for each inch of diameter: common \
                            practice, no published source"
                .to_owned(),
            Kind::InchFit(class) => format!("{class}, {}", class.source()),
            Kind::Running { rule, .. } => {
                format!(
                    "{rule}, the least; the most is that and the tolerance given; {}",
                    rule.source()
                )
            }
            Kind::ClassPair { hole, shaft } => {
                format!("{}; {}", iso286::source(&hole), iso286::source(&shaft))
            }
            Kind::ShaftOnRing { shaft: class } | Kind::HoleOnRing { hole: class } => {
                format!("{}; ISO 492:2014", iso286::source(&class))
            }
        }
    }
}

fn running_by_any_rule(journal: Length) -> Result<ClearanceWindow, FitError> {
    let all = RunningRule::ALL.iter().map(|rule| rule.clearance(journal));
    let (least, most) = (all.clone().min(), all.max());
    ClearanceWindow::new(least.unwrap_or(Length::ZERO), most.unwrap_or(Length::ZERO))
}

fn press(diameter: Length) -> ClearanceWindow {
    let share = |half_thou: i64| Length::from_nm(-(diameter.nm() / 2_000 * half_thou));
    ClearanceWindow { min: share(PRESS_MOST_HALF_THOU), max: share(PRESS_LEAST_HALF_THOU) }
}

fn between(hole: Deviations, shaft: Deviations) -> ClearanceWindow {
    ClearanceWindow { min: hole.lower - shaft.upper, max: hole.upper - shaft.lower }
}

impl fmt::Display for Requirement {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.0 {
            Kind::ClassPair { hole, shaft } => write!(f, "{hole}/{shaft}"),
            Kind::ShaftOnRing { shaft: class } | Kind::HoleOnRing { hole: class } => {
                write!(f, "{class}")
            }
            Kind::ShaftByDuty(duty) | Kind::HoleByDuty(duty) => {
                let rotation = duty.rotation.as_str().replace('_', " ");
                write!(f, "{rotation}, {} load, {}", duty.load, duty.machine)
            }
            Kind::RunningByAnyRule => f.write_str("running clearance by any of four rules"),
            Kind::Press => f.write_str("press fit"),
            Kind::InchFit(class) => write!(f, "{class}"),
            Kind::Running { rule, tolerance } => {
                write!(f, "{rule} and up to {} more", iso286::millimetres(tolerance))
            }
            Kind::Clearance(ClearanceWindow { min, max }) => {
                let [min, max] = [min, max].map(iso286::millimetres);
                write!(f, "clearance {min} to {max}")
            }
        }
    }
}

/// A text that is no fit by tolerance classes.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum RequirementParseError {
    /// A class cannot be read.
    #[error(transparent)]
    Class(#[from] ClassParseError),
    /// The classes do not make a fit.
    #[error(transparent)]
    Fit(#[from] FitError),
}

impl FromStr for Requirement {
    type Err = RequirementParseError;

    /// Reads `H7/k6`, one class alone for a bearing ring: `k5`, `H6`, or an inch fit: `RC4`.
    fn from_str(text: &str) -> Result<Self, Self::Err> {
        // No letters of the one standard are letters of the other.
        if let Ok(class) = text.parse() {
            return Ok(Requirement::inch_fit(class));
        }
        let (hole, shaft) = match text.split_once('/') {
            Some((hole, shaft)) => (Some(hole.parse()?), Some(shaft.parse()?)),
            None => {
                let class: Class = text.parse()?;
                match class.side() {
                    Side::Internal => (Some(class), None),
                    Side::External => (None, Some(class)),
                }
            }
        };
        Ok(Requirement::classes(hole, shaft)?)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn window(text: &str, mm: i64, ring: Option<ToleranceClass>) -> (i64, i64) {
        let requirement: Requirement = text.parse().unwrap();
        assert_eq!(requirement.to_string(), text);
        let window = requirement.window(Length::from_nm(mm * 1_000_000), ring).unwrap();
        (window.min.nm(), window.max.nm())
    }

    #[test]
    fn a_class_pair_gives_its_extreme_clearances() {
        // H7/g6 at 25 mm: +7 to +41 um, and H7/p6: -35 to -1 um. ANSI B4.2-1978 Tables 2 and 3
        // print the same (from memory).
        assert_eq!(window("H7/g6", 25, None), (7_000, 41_000));
        assert_eq!(window("H7/p6", 25, None), (-35_000, -1_000));
    }

    #[test]
    fn a_class_alone_stands_against_the_ring() {
        let normal = Some(ToleranceClass::Normal);
        assert_eq!(window("k5", 30, normal), (-21_000, -2_000));
        assert_eq!(window("H6", 62, normal), (0, 32_000));
        assert_eq!(window("k5", 30, Some(ToleranceClass::Class5)), (-17_000, -2_000));
        let alone: Requirement = "k5".parse().unwrap();
        let error = alone.window(Length::from_nm(30_000_000), None).unwrap_err();
        assert!(error.to_string().contains("no ISO 492 class is known"), "{error}");
    }

    /// The limits themselves are held to the standard's rows in `tests/b41_golden.rs`.
    #[test]
    fn an_inch_fit_is_its_own_window_at_every_class() {
        let inch = Length::from_nm(25_400_000);
        for class in FitClass::ALL {
            let requirement: Requirement = class.to_string().parse().unwrap();
            let fit = b41::fit(inch, class).unwrap();
            assert_eq!(requirement.window(inch, None), Ok(fit.window()));
            assert_eq!(requirement.is_unconfirmed(inch), Ok(fit.unconfirmed));
            assert!(requirement.source().contains("ANSI B4.1"), "{}", requirement.source());
        }
        let error = Requirement::inch_fit("RC4".parse().unwrap()).window(Length::ZERO, None);
        assert!(error.unwrap_err().to_string().contains("allowed: over 0.00 to 19.69 in"));
    }

    /// 0.002 in per inch of a 0.750 in journal is 0.0015 in (the rule as `RunningRule` has it).
    #[test]
    fn a_running_clearance_runs_from_the_rule_up_by_the_tolerance() {
        let requirement =
            Requirement::running(RunningRule::TwoThouPerInch, Length::from_nm(12_700));
        let window = requirement.window(Length::from_nm(19_050_000), None).unwrap();
        assert_eq!((window.min.nm(), window.max.nm()), (38_100, 50_800));
        assert!(requirement.source().contains("one of four rules"), "{}", requirement.source());
    }

    #[test]
    fn explicit_limits_are_the_window_at_any_size() {
        let window = ClearanceWindow::new(Length::from_nm(25_400), Length::from_nm(50_800));
        let requirement = Requirement::clearance(window.clone().unwrap());
        assert_eq!(requirement.window(Length::from_nm(1), None), window);
        assert_eq!(requirement.to_string(), "clearance 0.0254 mm to 0.0508 mm");
    }

    #[test]
    fn a_fit_that_makes_no_sense_is_refused_with_what_is_allowed() {
        for (text, wanted) in [
            ("k6/H7", "class k6 is on the wrong side; allowed here: a hole class"),
            ("H7/H7", "class H7 is on the wrong side; allowed here: a shaft class"),
            ("H7/", "must begin with the letters"),
            ("RC10", "no fundamental deviation \"RC\""),
        ] {
            let message = text.parse::<Requirement>().unwrap_err().to_string();
            assert!(message.contains(wanted), "{text}: {message}");
        }
        let none = Requirement::classes(None, None).unwrap_err().to_string();
        assert!(none.contains("give a hole class"), "{none}");
    }

    #[test]
    fn each_requirement_names_its_tables() {
        let source = |text: &str| text.parse::<Requirement>().unwrap().source();
        assert_eq!(source("k5"), "ISO 286-1:2010, Tables 1 and 5; ISO 492:2014");
        assert_eq!(
            source("H7/g6"),
            "ISO 286-1:2010, Tables 1 and 2; ISO 286-1:2010, Tables 1 and 4"
        );
    }
}
