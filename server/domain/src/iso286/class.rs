//! How a tolerance class is written: a fundamental deviation in letters and a grade in figures.
//!
//! Capitals are holes (`H7`), small letters are shafts (`k5`), ISO 286-1:2010, clause 4.

use std::fmt;
use std::str::FromStr;

use crate::b41::FitClass;
use crate::item::Side;

/// Defines the fundamental deviations with their two spellings.
macro_rules! fundamental_deviations {
    ($($name:ident = $hole:literal, $shaft:literal;)*) => {
        /// The fundamental deviation: where the tolerance zone lies, by letter.
        ///
        /// ISO 286-1:2010 writes it in capitals for holes and in small letters for shafts. `I`,
        /// `L`, `O`, `Q` and `W` are not used.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        #[allow(missing_docs, reason = "the letters are their own names")]
        pub enum FundamentalDeviation { $($name),* }

        impl FundamentalDeviation {
            /// Every fundamental deviation, in the order of the standard.
            pub const ALL: &[FundamentalDeviation] = &[$(FundamentalDeviation::$name),*];

            /// The letters for a hole (internal) or a shaft (external).
            pub const fn letters(self, side: Side) -> &'static str {
                match (self, side) {
                    $((FundamentalDeviation::$name, Side::Internal) => $hole,
                      (FundamentalDeviation::$name, Side::External) => $shaft,)*
                }
            }
        }
    };
}

fundamental_deviations! {
    A = "A", "a"; B = "B", "b"; C = "C", "c"; Cd = "CD", "cd"; D = "D", "d"; E = "E", "e";
    Ef = "EF", "ef"; F = "F", "f"; Fg = "FG", "fg"; G = "G", "g"; H = "H", "h"; J = "J", "j";
    Js = "JS", "js"; K = "K", "k"; M = "M", "m"; N = "N", "n"; P = "P", "p"; R = "R", "r";
    S = "S", "s"; T = "T", "t"; U = "U", "u"; V = "V", "v"; X = "X", "x"; Y = "Y", "y";
    Z = "Z", "z"; Za = "ZA", "za"; Zb = "ZB", "zb"; Zc = "ZC", "zc";
}

/// A standard tolerance grade, IT01 to IT18 (ISO 286-1:2010, Table 1). A higher grade is wider.
///
/// ```
/// use tenths_domain::iso286::Grade;
/// assert!(Grade::new(6).unwrap() < Grade::new(7).unwrap());
/// assert_eq!(Grade::ALL[0].to_string(), "IT01");
/// ```
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Grade(i8);

impl Grade {
    /// Every grade, finest first.
    pub const ALL: [Grade; 20] = {
        let mut all = [Grade(-1); 20];
        let mut index = 1;
        while index < 20 {
            all[index] = Grade(index as i8 - 1);
            index += 1;
        }
        all
    };

    /// Grade IT`number`, 0 to 18; IT01 is [`Grade::ALL`]`[0]`.
    pub const fn new(number: i8) -> Option<Grade> {
        if number >= 0 && number <= 18 { Some(Grade(number)) } else { None }
    }

    /// The grade's number, with -1 for IT01.
    pub(super) const fn number(self) -> i8 {
        self.0
    }

    /// The row of this grade in Table 1.
    pub(super) const fn row(self) -> usize {
        (self.0 + 1) as usize
    }

    fn figures(self) -> &'static str {
        const FIGURES: [&str; 20] = [
            "01", "0", "1", "2", "3", "4", "5", "6", "7", "8", "9", "10", "11", "12", "13", "14",
            "15", "16", "17", "18",
        ];
        FIGURES[self.row()]
    }
}

impl fmt::Display for Grade {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "IT{}", self.figures())
    }
}

/// A tolerance class: which side, which fundamental deviation, which grade.
///
/// ```
/// use tenths_domain::iso286::Class;
/// use tenths_domain::item::Side;
/// let class: Class = "js6".parse().unwrap();
/// assert_eq!(class.side(), Side::External);
/// assert_eq!(class.to_string(), "js6");
/// assert!("Js6".parse::<Class>().is_err());
/// ```
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Class {
    side: Side,
    deviation: FundamentalDeviation,
    grade: Grade,
}

impl Class {
    /// A class from its parts. Whether it exists for a size is known only with the size.
    pub const fn new(side: Side, deviation: FundamentalDeviation, grade: Grade) -> Self {
        Class { side, deviation, grade }
    }

    /// Whether the class is for a hole (internal) or a shaft (external).
    pub const fn side(self) -> Side {
        self.side
    }

    /// Where the tolerance zone lies.
    pub const fn deviation(self) -> FundamentalDeviation {
        self.deviation
    }

    /// How wide the tolerance zone is.
    pub const fn grade(self) -> Grade {
        self.grade
    }
}

impl fmt::Display for Class {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.deviation.letters(self.side))?;
        f.write_str(self.grade.figures())
    }
}

/// A text that is not a tolerance class.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{text:?} is not an ISO 286 tolerance class: {fault}")]
pub struct ClassParseError {
    /// What was given.
    pub text: String,
    /// What is wrong with it, and what is allowed.
    pub fault: ClassFault,
}

/// What is wrong with the text of a tolerance class.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum ClassFault {
    /// No letter at the start.
    #[error("it must begin with the letters of a fundamental deviation, as in k5 or H7")]
    NoLetters,
    /// Capitals and small letters mixed.
    #[error("write a hole in capitals (JS7) or a shaft in small letters (js7), not a mixture")]
    MixedCase,
    /// Two classes, which make a fit.
    #[error("it is a pair, which makes a fit; one class is allowed here, {hole} or {shaft}")]
    Pair {
        /// The part before the stroke.
        hole: String,
        /// The part after it.
        shaft: String,
    },
    /// A fit class of the inch standard.
    #[error("it is an ANSI B4.1 fit, which sets both sides; an ISO 286 class such as H7 is of one")]
    InchFit,
    /// A grade without a fundamental deviation: a width without a place.
    #[error(
        "it is a tolerance grade, a width without a place; write the letters of a fundamental \
         deviation instead of IT, as in h{figures}, H{figures} or js{figures}",
        figures = grade.figures()
    )]
    GradeAlone {
        /// The grade.
        grade: Grade,
    },
    /// Letters that the standard does not use.
    #[error("no fundamental deviation {letters:?}{}; allowed: {}", offer(nearest),
        allowed_letters(*side))]
    UnknownLetters {
        /// The letters given.
        letters: String,
        /// The side that their case stands for.
        side: Side,
        /// The nearest class that there is, or its letters where no grade is given.
        nearest: String,
    },
    /// A grade that the standard does not have, or none.
    #[error("no tolerance grade {figures:?}{}; allowed: 01, 0 and 1 to 18",
        nearest.as_deref().map(offer).unwrap_or_default())]
    UnknownGrade {
        /// The figures given.
        figures: String,
        /// The nearest class that there is; nothing where the figures are no number.
        nearest: Option<String>,
    },
}

fn offer(nearest: &str) -> String {
    format!(", the nearest is {nearest}")
}

fn allowed_letters(side: Side) -> String {
    let letters: Vec<_> = FundamentalDeviation::ALL.iter().map(|d| d.letters(side)).collect();
    letters.join(", ")
}

impl FromStr for Class {
    type Err = ClassParseError;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        parse(text).map_err(|fault| ClassParseError { text: text.to_owned(), fault })
    }
}

fn parse(text: &str) -> Result<Class, ClassFault> {
    if let Some((hole, shaft)) = text.split_once('/') {
        return Err(ClassFault::Pair { hole: hole.trim().into(), shaft: shaft.trim().into() });
    }
    if text.parse::<FitClass>().is_ok() {
        return Err(ClassFault::InchFit);
    }
    let split = text.find(|c: char| !c.is_ascii_alphabetic()).unwrap_or(text.len());
    let (letters, figures) = text.split_at(split);
    if letters.is_empty() {
        return Err(ClassFault::NoLetters);
    }
    let grade = Grade::ALL.into_iter().find(|grade| grade.figures() == figures);
    if let Some(grade) = grade.filter(|_| letters.eq_ignore_ascii_case("it")) {
        return Err(ClassFault::GradeAlone { grade });
    }
    let side = if letters.bytes().all(|b| b.is_ascii_uppercase()) {
        Side::Internal
    } else if letters.bytes().all(|b| b.is_ascii_lowercase()) {
        Side::External
    } else {
        return Err(ClassFault::MixedCase);
    };
    let deviation = FundamentalDeviation::ALL.iter().find(|d| d.letters(side) == letters);
    let near_grade = || grade.or_else(|| nearest_grade(figures)).map_or("", Grade::figures);
    let deviation = *deviation.ok_or_else(|| ClassFault::UnknownLetters {
        letters: letters.to_owned(),
        side,
        nearest: format!("{}{}", nearest_letters(letters, side), near_grade()),
    })?;
    let grade = grade.ok_or_else(|| ClassFault::UnknownGrade {
        figures: figures.to_owned(),
        nearest: nearest_grade(figures).map(|near| Class::new(side, deviation, near).to_string()),
    })?;
    Ok(Class::new(side, deviation, grade))
}

/// The last letters that stand before these in the alphabet: p for q, h for i, zc for zx.
fn nearest_letters(letters: &str, side: Side) -> &'static str {
    let known = FundamentalDeviation::ALL.iter().map(|known| known.letters(side));
    known.filter(|known| *known <= letters).max().unwrap_or(FundamentalDeviation::A.letters(side))
}

/// The grade that a number is nearest to: 18 for 99, 5 for 05; nothing for what is no number.
fn nearest_grade(figures: &str) -> Option<Grade> {
    let figures = figures.trim();
    let is_number = !figures.is_empty() && figures.bytes().all(|byte| byte.is_ascii_digit());
    // A number that is too large to be read is as far off as any.
    is_number.then(|| Grade::new(figures.parse::<i8>().unwrap_or(18).min(18)))?
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_class_reads_back_as_it_is_written() {
        for side in [Side::Internal, Side::External] {
            for &deviation in FundamentalDeviation::ALL {
                for grade in Grade::ALL {
                    let class = Class::new(side, deviation, grade);
                    assert_eq!(class.to_string().parse(), Ok(class));
                }
            }
        }
    }

    #[test]
    fn a_faulty_class_is_told_what_is_allowed() {
        let message = |text: &str| text.parse::<Class>().unwrap_err().to_string();
        for (text, wanted) in [
            ("", "must begin with the letters"),
            ("7H", "must begin with the letters"),
            ("Js6", "not a mixture"),
            ("q6", "allowed: a, b, c, cd, d"),
            ("W7", "allowed: A, B, C, CD, D"),
            ("k", "no tolerance grade \"\"; allowed: 01, 0 and 1 to 18"),
            ("k19", "no tolerance grade \"19\", the nearest is k18; allowed"),
            ("k05", "no tolerance grade \"05\", the nearest is k5; allowed"),
            ("x99", "the nearest is x18"),
            ("x999999999999999999999", "the nearest is x18"),
            ("q6", "no fundamental deviation \"q\", the nearest is p6; allowed"),
            ("i7", "the nearest is h7"),
            ("W77", "the nearest is V18"),
            ("zx6", "the nearest is zc6"),
            ("o", "the nearest is n; allowed"),
            ("H7/g6", "it is a pair, which makes a fit; one class is allowed here, H7 or g6"),
            ("RC4", "it is an ANSI B4.1 fit, which sets both sides"),
            ("IT7", "as in h7, H7 or js7"),
            ("it01", "as in h01, H01 or js01"),
            ("IT19", "no fundamental deviation \"IT\", the nearest is H18"),
            ("H7 ", "no tolerance grade \"7 \""),
            ("k5µ", "no tolerance grade \"5µ\""),
        ] {
            assert!(message(text).contains(wanted), "{text:?}: {}", message(text));
        }
    }
}
