//! The fixed mix of questions, from a seed. Of 100 questions:
//!
//! | share | question | requirement |
//! |---|---|---|
//! | 40 | rolling bearing by a measured seat | k5, j6 against the ring |
//! | 15 | rolling bearing by a measured housing bore | H7 against the ring |
//! | 15 | shaft by a measured bearing bore | k5, j6 against the ring |
//! | 10 | bushing by a measured journal, half with a close-in of 4 to 10 um | 20 to 80 um of clearance |
//! | 5 | shaft by a measured bushing bore | H7/f7 |
//! | 5 | housing by a measured outside diameter of a bearing | H7 against the ring |
//! | 10 | rolling bearing by a seat worn 0.15 to 0.30 mm: nothing fits | k5, j6 against the ring |
//!
//! Sizes are as common as in the stock; two in three are read in millimetres, the rest in inches;
//! one in two names the gauge. Each asks for the first 20 fits and the 5 nearest misses.

use tenths_proto::v1::LengthUnit;
use tenths_tests::Chance;

use crate::catalogue::{BORES_MM, GAUGES, Limits, SEAT_CLASSES, Sizes};
use crate::place::Place;
use crate::rows::written;
use crate::stock::{common, within};

/// What the fit must be.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum Required {
    /// A class of the hole, of the shaft, or both; the other side is a bearing's ring.
    Classes {
        /// The hole's class, or empty.
        hole: &'static str,
        /// The shaft's class, or empty.
        shaft: &'static str,
    },
    /// Limits of clearance in nanometres.
    Clearance(Limits),
}

/// One question.
#[derive(Clone, Debug)]
pub(crate) struct Question {
    /// What was measured.
    pub(crate) measured: Place,
    /// What is sought.
    pub(crate) sought: Place,
    /// The size as written, and its unit.
    pub(crate) written: (String, LengthUnit),
    /// The gauge, if it was named.
    pub(crate) gauge: Option<&'static str>,
    /// What the fit must be.
    pub(crate) required: Required,
    /// How much a bushing closes in, in nanometres.
    pub(crate) close_in: Option<Limits>,
    /// The sizes of a part that fits, for the SQL contestant.
    pub(crate) window: Limits,
    /// Expanded uncertainty of the measured size in nanometres.
    pub(crate) uncertainty_nm: i64,
}

/// Makes questions.
pub(crate) struct Mix<'a> {
    sizes: &'a Sizes,
    chance: Chance,
}

/// The part of a question that its kind sets.
struct Asked {
    measured: Place,
    sought: Place,
    size_nm: i64,
    required: Required,
    /// Smallest and largest clearance allowed.
    clearance: Limits,
    close_in: Option<Limits>,
}

impl<'a> Mix<'a> {
    /// The mix of a seed, the same each time.
    pub(crate) fn new(sizes: &'a Sizes, seed: u64) -> Self {
        Self { sizes, chance: Chance::new(seed ^ 0x5155_4553) }
    }

    fn nominal(&mut self) -> i64 {
        BORES_MM[common(&mut self.chance, BORES_MM.len())] * 1_000_000
    }

    fn ring(&mut self) -> &'a crate::catalogue::Ring {
        let bore = common(&mut self.chance, BORES_MM.len());
        &self.sizes.rings[bore * 3 + common(&mut self.chance, 3)]
    }

    fn class(&mut self) -> &'static str {
        SEAT_CLASSES[common(&mut self.chance, SEAT_CLASSES.len())]
    }

    fn bearing_by_seat(&mut self, worn_nm: i64) -> Asked {
        let (ring, class) = (self.ring(), self.class());
        let seat = self.sizes.class(class, ring.bore_nm);
        Asked {
            measured: Place::Seat,
            sought: Place::BearingBore,
            size_nm: within(&mut self.chance, seat) - worn_nm,
            required: Required::Classes { hole: "", shaft: class },
            clearance: between(ring.bore, seat),
            close_in: None,
        }
    }

    fn shaft_by_bearing(&mut self) -> Asked {
        let (ring, class) = (self.ring(), self.class());
        Asked {
            measured: Place::BearingBore,
            sought: Place::Seat,
            size_nm: within(&mut self.chance, ring.bore),
            required: Required::Classes { hole: "", shaft: class },
            clearance: between(ring.bore, self.sizes.class(class, ring.bore_nm)),
            close_in: None,
        }
    }

    fn by_housing(&mut self, measured: Place, sought: Place) -> Asked {
        let ring = self.ring();
        let housing = self.sizes.class("H7", ring.outside_nm);
        let is_housing = measured == Place::HousingBore;
        let size = within(&mut self.chance, if is_housing { housing } else { ring.outside });
        Asked {
            measured,
            sought,
            size_nm: size,
            required: Required::Classes { hole: "H7", shaft: "" },
            clearance: between(housing, ring.outside),
            close_in: None,
        }
    }

    fn bushing_by_journal(&mut self) -> Asked {
        let nominal = self.nominal();
        let clearance = Limits { lower: 20_000, upper: 80_000 };
        let close_in = Limits { lower: 4_000, upper: 10_000 };
        Asked {
            measured: Place::Journal,
            sought: Place::BushingBore,
            size_nm: within(&mut self.chance, self.sizes.class("f7", nominal)),
            required: Required::Clearance(clearance),
            clearance,
            close_in: (self.chance.below(2) == 0).then_some(close_in),
        }
    }

    fn shaft_by_bushing(&mut self) -> Asked {
        let nominal = self.nominal();
        let bore = self.sizes.class("H7", nominal);
        Asked {
            measured: Place::BushingBore,
            sought: Place::Journal,
            size_nm: within(&mut self.chance, bore),
            required: Required::Classes { hole: "H7", shaft: "f7" },
            clearance: between(bore, self.sizes.class("f7", nominal)),
            close_in: None,
        }
    }

    fn finish(&mut self, asked: Asked) -> Question {
        let gauge = GAUGES[usize::from(self.chance.below(3) == 0)];
        let steps = (asked.size_nm + gauge.step_nm / 2) / gauge.step_nm;
        let is_named = self.chance.below(2) == 0;
        Question {
            measured: asked.measured,
            sought: asked.sought,
            written: (written(steps, gauge.step_nm, gauge.unit), gauge.unit),
            gauge: is_named.then_some(gauge.tag),
            window: window(&asked, steps * gauge.step_nm),
            required: asked.required,
            close_in: asked.close_in,
            // With no gauge named, one last place as written is taken.
            uncertainty_nm: if is_named { gauge.uncertainty_nm } else { gauge.step_nm },
        }
    }
}

impl Iterator for Mix<'_> {
    type Item = Question;

    fn next(&mut self) -> Option<Question> {
        let asked = match self.chance.below(100) {
            0..40 => self.bearing_by_seat(0),
            40..55 => self.by_housing(Place::HousingBore, Place::BearingOutside),
            55..70 => self.shaft_by_bearing(),
            70..80 => self.bushing_by_journal(),
            80..85 => self.shaft_by_bushing(),
            85..90 => self.by_housing(Place::BearingOutside, Place::HousingBore),
            _ => {
                let worn = 150_000 + self.chance.below(150_000) as i64;
                self.bearing_by_seat(worn)
            }
        };
        Some(self.finish(asked))
    }
}

/// The clearances of a hole and a shaft, each anywhere within its limits.
fn between(hole: Limits, shaft: Limits) -> Limits {
    Limits { lower: hole.lower - shaft.upper, upper: hole.upper - shaft.lower }
}

/// Between which sizes the mate of a measured size must lie.
fn window(asked: &Asked, size_nm: i64) -> Limits {
    let Limits { lower, upper } = asked.clearance;
    let close_in = asked.close_in.unwrap_or(Limits { lower: 0, upper: 0 });
    match asked.sought {
        Place::Seat | Place::Journal | Place::BearingOutside | Place::BushingOutside => {
            Limits { lower: size_nm - upper, upper: size_nm - lower }
        }
        // The free bore is larger than the installed one by what it closes in.
        Place::BearingBore | Place::BushingBore | Place::HousingBore => Limits {
            lower: size_nm + lower + close_in.upper,
            upper: size_nm + upper + close_in.lower,
        },
    }
}
