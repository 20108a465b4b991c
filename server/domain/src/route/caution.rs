//! The short cautions that go with an operation.

use crate::named::named_enum;

named_enum! {
    /// What to mind at the work.
    WorkCaution, "work caution" {
        /// Grinding.
        Grinding = "grinding",
        /// A plating or stripping bath.
        Plating = "plating",
        /// Baking after plating.
        Baking = "baking",
        /// Spraying.
        Spraying = "spraying",
        /// Welding.
        Welding = "welding",
        /// Straightening and pressing.
        Pressing = "pressing",
        /// Heat for a shrink fit or stress relief.
        Heat = "heat",
        /// Cracks.
        Cracks = "cracks",
        /// Solvents.
        Solvents = "solvents",
        /// A turning part.
        Rotating = "rotating",
        /// Per side against on diameter.
        PerSide = "per_side",
        /// The fillet.
        Fillet = "fillet",
        /// All advice.
        Basis = "basis",
    }
}

impl WorkCaution {
    /// The caution in words.
    ///
    /// ```
    /// use tenths_domain::route::WorkCaution;
    /// assert!(WorkCaution::Baking.text().contains("crack"));
    /// ```
    pub const fn text(self) -> &'static str {
        match self {
            WorkCaution::Grinding => {
                "Eye protection, guard in place, coolant on: a dry or hard cut burns and cracks the \
                 surface. Re-check run-out after grinding, stresses let go."
            }
            WorkCaution::Plating => {
                "Chromium baths, acids and stripping are for a licensed plater with the ventilation \
                 and permits that local rules ask for; never because a screen suggested it."
            }
            WorkCaution::Baking => {
                "Hard steel that is not baked in time after plating can crack later without \
                 warning: get the bake record with the part."
            }
            WorkCaution::Spraying => {
                "Spray dust, fumes and arc: extraction and protection by trained people. A sprayed \
                 layer holds no keyway or thread edge."
            }
            WorkCaution::Welding => {
                "Heat distorts a shaft and takes the temper of hardened steel: procedure and welder \
                 qualified for the steel, slow cooling, crack test after."
            }
            WorkCaution::Pressing => {
                "Stand clear of the line of force, guard and square support: a shaft can spring or \
                 break."
            }
            WorkCaution::Heat => {
                "Gloves, a thermometer and a stop at the limit; no open flame; keep strong magnets \
                 away from pacemakers, demagnetise after."
            }
            WorkCaution::Cracks => {
                "A qualified crack-test person decides on cracks, not a size reading."
            }
            WorkCaution::Solvents => {
                "Ventilation, gloves, no ignition source; solvents attack winding insulation."
            }
            WorkCaution::Rotating => {
                "Guard, no gloves near rotation, no loose key in a keyseat, hold down before turning."
            }
            WorkCaution::PerSide => {
                "Thickness is given per side AND on diameter: order by the one that the drawing or \
                 the vendor names, and say which."
            }
            WorkCaution::Fillet => {
                "Keep the fillet radius at the shoulder: a sharp corner breaks the shaft."
            }
            WorkCaution::Basis => {
                "Advice from the numbers entered: confirm by measuring, follow the maker's data and \
                 local rules."
            }
        }
    }
}
