//! The short cautions that go with advice, at the place where it is given.

use crate::named::named_enum;

named_enum! {
    /// What to mind.
    Caution, "caution" {
        /// Pressing.
        Press = "press",
        /// Heating.
        Heat = "heat",
        /// Heating a sealed or greased bearing.
        SealedHeat = "sealed_heat",
        /// Clearance inside a bearing.
        InternalClearance = "internal_clearance",
        /// Pressing a bushing.
        Bushing = "bushing",
        /// A porous bushing.
        PorousBushing = "porous_bushing",
        /// Stress beyond the elastic range.
        Yield = "yield",
        /// The strength of a shaft.
        ShaftStrength = "shaft_strength",
        /// All advice.
        Basis = "basis",
    }
}

impl Caution {
    /// The caution in words.
    ///
    /// ```
    /// use tenths_domain::assembly::Caution;
    /// assert!(Caution::Press.text().contains("stand clear"));
    /// ```
    pub const fn text(self) -> &'static str {
        match self {
            Caution::Press => {
                "Press force is an estimate: stand clear of the line of force, use a guard and \
                 square support, push on the ring that is being fitted; a ring or casting can burst."
            }
            Caution::Heat => {
                "Gloves, a thermometer and a stop at the limit; no open flame. Keep induction \
                 heaters and strong magnets away from pacemakers; demagnetise the part."
            }
            Caution::SealedHeat => {
                "Sealed or greased: never in oil, never over 80 C, heat by induction and fit at once."
            }
            Caution::InternalClearance => {
                "Clearance left is an estimate from usual factors: turn the bearing by hand after \
                 fitting, and measure it where a feeler or indicator can reach."
            }
            Caution::Bushing => {
                "The bore closes in when pressed: measure it in the housing before anything is \
                 reamed or assembled."
            }
            Caution::PorousBushing => {
                "Porous, oil-filled bronze: never ream or machine the bore, it closes the pores; \
                 size it with a burnishing arbor or ball."
            }
            Caution::Yield => {
                "Stress beyond 350 MPa: plain steel, iron and bronze yield about there, and these \
                 elastic numbers no longer hold. A part can stretch, burst or come loose: check both \
                 sizes, and have the joint worked out by somebody qualified."
            }
            Caution::ShaftStrength => {
                "Torsion and stated bending only: shoulders, fillets, cracks, case depth and \
                 fatigue can ask for more; a qualified person decides."
            }
            Caution::Basis => {
                "Advice from the numbers entered: confirm by measuring the actual pair, and follow \
                 the maker's data and local rules."
            }
        }
    }
}
