//! A question as SQL: every row of the table is judged, then put in the documented order.

use crate::stock::Limits;

/// The measured part at one end, and what the fit must be there, in nanometres.
#[derive(Clone, Debug)]
pub(crate) struct End {
    pub(crate) low: i64,
    pub(crate) high: i64,
    pub(crate) uncertainty: i64,
    /// The clearance that is allowed, by the candidate's nominal size; of one alone, at every size.
    pub(crate) allowed: Vec<(i64, Limits)>,
    /// How much a bore closes in: least and most.
    pub(crate) close_in: (i64, i64),
}

/// What is looked at.
#[derive(Clone, Debug)]
pub(crate) struct Judge {
    /// The kind of item, as the books have it.
    pub(crate) item_kind: &'static str,
    /// The kinds of place, as a list of SQL.
    pub(crate) feature_kinds: &'static str,
    /// Whether these are holes.
    pub(crate) is_hole: bool,
    pub(crate) first: End,
    /// The housing that the same part goes into.
    pub(crate) other: Option<End>,
    /// A condition of SQL that begins with AND, or nothing.
    pub(crate) filter: String,
    /// The measured piece itself.
    pub(crate) itself: String,
    pub(crate) fits: usize,
    pub(crate) misses: usize,
}

impl Judge {
    /// The best fits and the nearest misses: part (0 or 1), how many there are in all, verdict (1 to 3
    /// for fits), distance from the middle or amount of the miss, tag, feature, clearance.
    pub(crate) fn sql(&self) -> String {
        let Judge { item_kind, feature_kinds, filter, itself, fits, misses, .. } = self;
        let (look_from, look_to) = self.look();
        let ends = self.ends();
        let worked: Vec<String> = ends.iter().map(|end| end.clearance()).collect();
        let graded: Vec<String> = ends.iter().map(|end| end.grade()).collect();
        let join = match &self.other {
            Some(_) => {
                "JOIN brute o ON o.tag = b.tag AND o.is_lot = b.is_lot AND o.is_known = 1 \
                 AND o.is_wrong = 0 AND o.feature_kind = 'outside_diameter'"
            }
            None => "",
        };
        let [out, verdict, off] = match &self.other {
            None => ["out1", "verdict1", "off1"],
            Some(_) => [
                "CASE WHEN out1 > out2 THEN out1 ELSE out2 END",
                "CASE WHEN verdict1 > verdict2 THEN verdict1 ELSE verdict2 END",
                "off1 + off2",
            ],
        };
        let equals = "is_held, is_undated, date_code, is_lot, tag, feature";
        format!(
            "WITH near AS MATERIALIZED (SELECT b.is_lot, b.tag, b.feature, b.date_code,
                CASE WHEN b.free_now > 0 THEN 0 ELSE 1 END AS is_held,
                CASE WHEN b.date_code = '' THEN 1 ELSE 0 END AS is_undated, {worked}
                FROM brute b {join}
                WHERE b.item_kind = '{item_kind}' AND b.feature_kind IN ({feature_kinds})
                AND b.is_known = 1 AND b.is_wrong = 0
                AND NOT (b.item_kind = 'rolling_bearing' AND b.condition <> 'new')
                AND b.low <= {look_to} AND b.high >= {look_from} AND b.tag <> '{itself}' {filter}),
            gaps AS MATERIALIZED (SELECT near.*, {gaps} FROM near),
            graded AS MATERIALIZED (SELECT gaps.*, {graded} FROM gaps),
            judged AS MATERIALIZED (SELECT graded.*, {verdict} AS verdict, {off} AS off_centre,
                CASE WHEN {out} > 0 THEN {out} ELSE 0 END AS missed_by FROM graded)
            SELECT part, total, verdict, measure, tag, feature, least, most FROM (
                SELECT 0 AS part, COUNT(*) OVER () AS total, verdict, off_centre AS measure, tag,
                    feature, least1 AS least, most1 AS most, ROW_NUMBER() OVER
                    (ORDER BY verdict, off_centre, {equals}) AS place
                FROM judged WHERE verdict < 9
                UNION ALL
                SELECT 1, COUNT(*) OVER (), 0, missed_by, tag, feature, least1, most1,
                    ROW_NUMBER() OVER (ORDER BY missed_by, {equals})
                FROM judged WHERE verdict = 9) ranked
            WHERE (part = 0 AND place <= {fits}) OR (part = 1 AND place <= {misses})
            ORDER BY part, place",
            worked = worked.join(", "),
            gaps = ends.iter().map(|end| end.gap()).collect::<Vec<_>>().join(", "),
            graded = graded.join(", "),
        )
    }

    /// What is looked at: 2 % around the measured size, at least half a millimetre.
    fn look(&self) -> (i64, i64) {
        let around = |size: i64| (size / 100 * 2).max(500_000);
        let End { low, high, .. } = self.first;
        (low - around(low), high + around(high))
    }

    fn ends(&self) -> Vec<AtEnd<'_>> {
        let first = AtEnd { table: "b", number: 1, is_hole: self.is_hole, end: &self.first };
        let other = self.other.as_ref();
        let other = other.map(|end| AtEnd { table: "o", number: 2, is_hole: false, end });
        [Some(first), other].into_iter().flatten().collect()
    }
}

/// One end of the question at one place of a candidate.
struct AtEnd<'a> {
    table: &'static str,
    number: u8,
    is_hole: bool,
    end: &'a End,
}

impl AtEnd<'_> {
    /// The ends of what is allowed.
    fn allowed(&self) -> String {
        let AtEnd { table, number, end: End { allowed, .. }, .. } = self;
        let by_nominal = |of: fn(&Limits) -> i64| {
            if let [(_, everywhere)] = &allowed[..] {
                return of(everywhere).to_string();
            }
            let cases =
                allowed.iter().map(|(nominal, at)| format!("WHEN {nominal} THEN {}", of(at)));
            format!("CASE {table}.nominal {} END", cases.collect::<Vec<_>>().join(" "))
        };
        let (lower, upper) = (by_nominal(|at| at.lower), by_nominal(|at| at.upper));
        format!("{lower} AS lower{number}, {upper} AS upper{number}")
    }

    /// Smallest and largest clearance, form, doubt and square of the uncertainty.
    fn clearance(&self) -> String {
        let AtEnd { table, number, is_hole, end } = self;
        let End { low, high, uncertainty, close_in: (least_in, most_in), .. } = end;
        let (least, most) = if *is_hole {
            let least = format!("{table}.low - {}", most_in + high);
            (least, format!("{table}.high - {}", least_in + low))
        } else {
            (format!("{low} - {table}.high"), format!("{high} - {table}.low"))
        };
        let (form, doubt) = (high - low, most_in - least_in);
        let square = uncertainty * uncertainty;
        format!(
            "{least} AS least{number}, {most} AS most{number}, {table}.form + {form} AS form{number}, \
             {table}.doubt + {doubt} AS doubt{number}, \
             {table}.uncertainty * {table}.uncertainty + {square} AS square{number}, {allowed}",
            allowed = self.allowed()
        )
    }

    /// How far the clearance is outside (less than zero: inside), and off the middle.
    fn gap(&self) -> String {
        let number = self.number;
        format!(
            "CASE WHEN lower{number} - least{number} > most{number} - upper{number}
                THEN lower{number} - least{number} ELSE most{number} - upper{number} END AS out{number},
             abs(least{number} + most{number} - lower{number} - upper{number}) AS off{number}"
        )
    }

    /// 1 if it is proven inside, 2 and 3 by how likely, 9 if it does not fit.
    fn grade(&self) -> String {
        let number = self.number;
        let middle = format!("least{number} - most{number}");
        format!(
            "CASE WHEN out{number} > 0 THEN 9 WHEN out{number} * out{number} >= square{number} THEN 1 \
             ELSE graded(CAST(2 * lower{number} + form{number} - {middle} AS BIGINT), \
             CAST(2 * upper{number} - form{number} - {middle} AS BIGINT), \
             square{number}, doubt{number}) END AS verdict{number}"
        )
    }
}
