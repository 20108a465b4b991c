//! The profile of a feature in plain characters: readings along its stations against nominal and
//! limits, all on one scale, so that a person sees where it is worn. It draws, it does not judge.

use crate::entry::lengths;
use tenths_domain::units::{Length, Unit};
use tenths_proto::v1::{self, FeatureAssessment, StationSummary};

/// Columns of the drawing; with station and numbers beside it a line stays within 80.
const COLUMNS: usize = 50;
const LEGEND: &str = "o smallest, largest   - between   [ ] limits   | nominal   * does not wear";

/// The drawing, one line per station in order; nothing if no station was measured.
pub(crate) fn drawn(assessment: &FeatureAssessment, unit: Option<Unit>) -> String {
    let rows: Vec<Row> = assessment.stations.iter().filter_map(Row::of).collect();
    let Some(scale) = Scale::over(assessment, &rows, unit) else { return String::new() };
    let mut lines: Vec<String> = rows.iter().map(|row| scale.line(row)).collect();
    lines.push(scale.ends());
    lines.push(legend(&scale, &rows));
    lines.iter().map(|line| format!("{}\n", line.trim_end())).collect()
}

/// What the readings of one station span.
struct Row {
    station: String,
    smallest: Length,
    largest: Length,
    reference: bool,
}

impl Row {
    fn of(summary: &StationSummary) -> Option<Row> {
        Some(Row {
            station: summary.station.clone(),
            smallest: length(summary.min.as_ref())?,
            largest: length(summary.max.as_ref())?,
            reference: summary.reference,
        })
    }
}

/// Lengths to columns, and the marks that stand in every line.
struct Scale {
    low: Length,
    high: Length,
    marks: Vec<(Length, char)>,
    unit: Unit,
    places: u32,
}

impl Scale {
    fn over(assessment: &FeatureAssessment, rows: &[Row], unit: Option<Unit>) -> Option<Scale> {
        // Later marks cover earlier ones: a limit at the nominal size must stay visible.
        let marks: Vec<(Length, char)> = [
            (&assessment.nominal, '|'),
            (&assessment.limit_lower, '['),
            (&assessment.limit_upper, ']'),
        ]
        .into_iter()
        .filter_map(|(at, mark)| Some((length(at.as_ref())?, mark)))
        .collect();
        let readings = rows.iter().flat_map(|row| [row.smallest, row.largest]);
        let shown: Vec<Length> = readings.chain(marks.iter().map(|(at, _)| *at)).collect();
        let written = assessment.stations.iter().find_map(|s| s.min.as_ref());
        let unit = unit.or_else(|| written.and_then(lengths::unit_of)).unwrap_or(Unit::Millimetre);
        if rows.is_empty() {
            return None;
        }
        Some(Scale {
            low: *shown.iter().min()?,
            high: *shown.iter().max()?,
            places: shown.iter().map(|length| length.places_in(unit)).max()?,
            marks,
            unit,
        })
    }

    /// The column nearest to a length; everything is in the middle if there is one length only.
    fn column(&self, length: Length) -> usize {
        let span = i128::from(self.high.nm()) - i128::from(self.low.nm());
        if span == 0 {
            return COLUMNS / 2;
        }
        let last = COLUMNS - 1;
        let along = i128::from(length.nm()) - i128::from(self.low.nm());
        let nearest = (2 * along * last as i128 + span) / (2 * span);
        usize::try_from(nearest).unwrap_or(0).min(last)
    }

    fn line(&self, row: &Row) -> String {
        let (from, to) = (self.column(row.smallest), self.column(row.largest));
        let mut drawing = [' '; COLUMNS];
        drawing[from..=to].fill('-');
        for (at, mark) in &self.marks {
            drawing[self.column(*at)] = *mark;
        }
        drawing[from] = 'o';
        drawing[to] = 'o';
        let star = if row.reference { '*' } else { ' ' };
        let numbers = if row.smallest == row.largest {
            self.number(row.smallest)
        } else {
            format!("{}..{}", self.number(row.smallest), self.number(row.largest))
        };
        format!("{:>3}{star} {} {numbers}", row.station, drawing.iter().collect::<String>())
    }

    /// The two ends of the scale, under the drawing.
    fn ends(&self) -> String {
        let (low, high) = (self.number(self.low), self.number(self.high));
        if low == high {
            return format!("     {low:^COLUMNS$} {}", self.unit);
        }
        format!("     {low}{high:>width$} {}", self.unit, width = COLUMNS - low.len())
    }

    fn number(&self, length: Length) -> String {
        length.number(self.unit, self.places)
    }
}

/// Only the signs that were drawn are explained.
fn legend(scale: &Scale, rows: &[Row]) -> String {
    let drawn = |sign: char| match sign {
        'o' => true,
        '-' => rows.iter().any(|row| row.smallest != row.largest),
        '*' => rows.iter().any(|row| row.reference),
        mark => scale.marks.iter().any(|(_, known)| *known == mark),
    };
    let kept = LEGEND.split("   ").filter(|part| part.starts_with(drawn));
    format!("     {}", kept.collect::<Vec<_>>().join("   "))
}

fn length(wire: Option<&v1::Length>) -> Option<Length> {
    wire.map(|length| Length::from_nm(length.nm))
}

#[cfg(test)]
mod tests {
    use super::*;

    const TENTH_NM: i64 = 2_540;

    fn inch(tenths: i64) -> Option<v1::Length> {
        let value = format!("0.{tenths:04}");
        Some(v1::Length { value, unit: v1::LengthUnit::In.into(), nm: tenths * TENTH_NM })
    }

    fn station(name: &str, smallest: i64, largest: i64) -> StationSummary {
        StationSummary {
            station: name.into(),
            min: inch(smallest),
            max: inch(largest),
            mean: None,
            reference: name == "R",
        }
    }

    /// A journal that is worn in its middle, against a station where nothing runs.
    fn worn_journal() -> FeatureAssessment {
        FeatureAssessment {
            nominal: inch(9380),
            limit_lower: inch(9360),
            limit_upper: inch(9385),
            stations: vec![
                station("R", 9380, 9380),
                station("A", 9378, 9380),
                station("B", 9355, 9368),
                station("C", 9375, 9377),
            ],
            ..Default::default()
        }
    }

    #[test]
    fn the_profile_shows_where_it_is_worn() {
        let expected = [
            "  R*         [                                o       ] 0.9380",
            "  A          [                             o--o       ] 0.9378..0.9380",
            "  B  o-------[------------o                   |       ] 0.9355..0.9368",
            "  C          [                        o--o    |       ] 0.9375..0.9377",
            "     0.9355                                      0.9385 in",
            "     o smallest, largest   - between   [ ] limits   | nominal   * does not wear",
        ];
        assert_eq!(drawn(&worn_journal(), None).lines().collect::<Vec<_>>(), expected);
    }

    #[test]
    fn the_same_profile_in_millimetres_has_the_same_shape() {
        let (inch, mm) =
            (drawn(&worn_journal(), None), drawn(&worn_journal(), Some(Unit::Millimetre)));
        for (inch, mm) in inch.lines().zip(mm.lines()).take(4) {
            assert_eq!(inch[..55], mm[..55]);
        }
        assert!(mm.contains("23.7617..23.7947"), "{mm}");
    }

    #[test]
    fn lines_stay_within_80_columns_of_plain_characters() {
        let mut wide = worn_journal();
        for summary in &mut wide.stations {
            summary.station = "ABC".into();
            for end in [&mut summary.min, &mut summary.max].into_iter().flatten() {
                end.nm += 12_000_000_003;
            }
        }
        for unit in [Unit::Inch, Unit::Millimetre] {
            let drawing = drawn(&wide, Some(unit));
            assert!(drawing.is_ascii());
            for line in drawing.lines() {
                assert!(line.len() <= 80, "{} columns: {line}", line.len());
            }
        }
    }

    #[test]
    fn a_single_size_without_limits_is_drawn_in_the_middle() {
        let one =
            FeatureAssessment { stations: vec![station("A", 9380, 9380)], ..Default::default() };
        let drawing = drawn(&one, None);
        assert_eq!(drawing.find('o'), Some(5 + COLUMNS / 2));
        assert!(!drawing.contains("limits") && !drawing.contains("nominal"), "{drawing}");
        assert_eq!(drawn(&FeatureAssessment::default(), None), "");
    }
}
