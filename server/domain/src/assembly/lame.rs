//! Thick cylinders pressed into one another: Lame's equations for plane stress, open ends.
//!
//! Shigley's Mechanical Engineering Design, 8th ed., 3-14 and 3-16 (Eqs. 3-56 to 3-59; read in the
//! book's Tutorial 3-16 and its solutions manual). Stresses are floats in
//! MPa; sizes go in as whole nanometres and come out rounded by the caller.

use super::{AssemblyError, check_size};
use crate::units::Length;

/// Young's modulus and Poisson's ratio of one cylinder.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stiffness {
    /// Young's modulus in MPa.
    pub young_mpa: f64,
    /// Poisson's ratio.
    pub poisson: f64,
}

/// Two cylinders that meet at one diameter: shaft in hub, ring on shaft, bushing in housing.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Cylinders {
    diameter: Length,
    bore: Length,
    outside: Length,
    inner: Stiffness,
    outer: Stiffness,
}

impl Cylinders {
    /// Two cylinders: the diameter where they meet, the bore of the inner one (zero if it is
    /// solid), the outside diameter of the outer one, and how stiff each is.
    ///
    /// ```
    /// use tenths_domain::assembly::{Cylinders, Stiffness};
    /// use tenths_domain::units::Length;
    /// let mm = |mm: i64| Length::from_nm(mm * 1_000_000);
    /// let steel = Stiffness { young_mpa: 207e3, poisson: 0.3 };
    /// let pair = Cylinders::new(mm(50), mm(25), mm(75), steel, steel).unwrap();
    /// // Shigley's, 8th ed., problem 5-35: 0.02 mm of interference, 19.41 MPa.
    /// assert!((pair.pressure_mpa(Length::from_nm(20_000)) - 19.41).abs() < 0.005);
    /// assert!(Cylinders::new(mm(50), mm(50), mm(75), steel, steel).is_err());
    /// ```
    pub fn new(
        diameter: Length,
        bore: Length,
        outside: Length,
        inner: Stiffness,
        outer: Stiffness,
    ) -> Result<Self, AssemblyError> {
        check_size("a diameter of the joint", diameter)?;
        check_size("an outside diameter", outside)?;
        if bore < Length::ZERO {
            return Err(AssemblyError::Size { what: "a bore", length: bore });
        }
        check_inside("a bore", bore, "a joint diameter", diameter)?;
        check_inside("a joint diameter", diameter, "an outside diameter", outside)?;
        for stiffness in [inner, outer] {
            check_stiffness(stiffness)?;
        }
        Ok(Cylinders { diameter, bore, outside, inner, outer })
    }

    /// The diameter where they meet.
    pub const fn diameter(&self) -> Length {
        self.diameter
    }

    /// The pressure between them in MPa for an interference on diameter; none without interference.
    /// p = I / (D ((Co + no) / Eo + (Ci - ni) / Ei)), with C the ratio of the sum to the difference
    /// of the squares of a cylinder's two diameters (Eq. 3-56, in diameters).
    pub fn pressure_mpa(&self, interference: Length) -> f64 {
        if interference <= Length::ZERO {
            return 0.0;
        }
        interference.nm() as f64 / (self.diameter.nm() as f64 * self.compliance())
    }

    /// The hoop stress at the bore of the outer cylinder in MPa, tension: p Co.
    pub fn outer_hoop_mpa(&self, pressure_mpa: f64) -> f64 {
        pressure_mpa * ratio(self.diameter, self.outside)
    }

    /// The hoop stress at the outside of the inner cylinder in MPa, negative for compression: -p Ci;
    /// of a solid one it is -p throughout.
    pub fn inner_hoop_mpa(&self, pressure_mpa: f64) -> f64 {
        -pressure_mpa * ratio(self.bore, self.diameter)
    }

    /// The hoop stress at the bore of the inner cylinder in MPa, negative for compression:
    /// -2 p D^2 / (D^2 - d^2); nothing if it is solid.
    pub fn inner_bore_hoop_mpa(&self, pressure_mpa: f64) -> Option<f64> {
        (self.bore > Length::ZERO).then(|| {
            let (bore, diameter) = (self.bore.nm() as f64, self.diameter.nm() as f64);
            -2.0 * pressure_mpa * diameter * diameter / (diameter * diameter - bore * bore)
        })
    }

    /// How much the bore of the inner cylinder closes in, as a share of the interference: nothing
    /// if it is solid. Its hoop strain times its diameter, over the interference.
    pub fn close_in_share(&self) -> f64 {
        let strain_per_mpa = self.inner_bore_hoop_mpa(1.0).unwrap_or(0.0) / self.inner.young_mpa;
        let (bore, diameter) = (self.bore.nm() as f64, self.diameter.nm() as f64);
        -strain_per_mpa * bore / (diameter * self.compliance())
    }

    /// Strain of the interference per MPa of pressure.
    fn compliance(&self) -> f64 {
        let outer = ratio(self.diameter, self.outside) + self.outer.poisson;
        let inner = ratio(self.bore, self.diameter) - self.inner.poisson;
        outer / self.outer.young_mpa + inner / self.inner.young_mpa
    }
}

/// (b^2 + a^2) / (b^2 - a^2) for the inside diameter a and the outside diameter b.
fn ratio(inside: Length, outside: Length) -> f64 {
    let (a, b) = (inside.nm() as f64, outside.nm() as f64);
    (b * b + a * a) / (b * b - a * a)
}

fn check_inside(
    inner: &'static str,
    inner_size: Length,
    outer: &'static str,
    outer_size: Length,
) -> Result<(), AssemblyError> {
    if inner_size >= outer_size {
        return Err(AssemblyError::NotInside { inner, inner_size, outer, outer_size });
    }
    Ok(())
}

fn check_stiffness(stiffness: Stiffness) -> Result<(), AssemblyError> {
    let Stiffness { young_mpa, poisson } = stiffness;
    if !(young_mpa > 0.0 && young_mpa.is_finite()) {
        let (what, allowed) = ("a Young's modulus", "over 0 MPa");
        return Err(AssemblyError::Stiffness { what, value: young_mpa.to_string(), allowed });
    }
    if !(0.0..0.5).contains(&poisson) {
        let (what, allowed) = ("a Poisson's ratio", "0 to under 0.5");
        return Err(AssemblyError::Stiffness { what, value: poisson.to_string(), allowed });
    }
    Ok(())
}
