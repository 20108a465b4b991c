//! How old a date-coded part is, and whether the shop's policy still lets it be fitted.
//!
//! Grease and preservative age on the shelf. How long is the maker's and the shop's to say: there is
//! no limit unless the shop sets one.

const MICROS_PER_DAY: i64 = 86_400_000_000;

/// 3 3/4 years in months, one published figure.
pub const PUBLISHED_AGE_LIMIT: i64 = 45;
/// Where [`PUBLISHED_AGE_LIMIT`] is from.
pub const PUBLISHED_AGE_LIMIT_SOURCE: &str =
    "US Army TM 11-6125-240-34: none older than 3 3/4 years from the date mark";

/// The month that a date code names.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct DateCode {
    /// Months since the year 0.
    months: i64,
}

impl DateCode {
    /// Reads `2026`, `2026-03`, `2026-03-14` or a week, `2026-W07`; nothing for any other text. A
    /// year alone is taken as its January, so that a part is never taken as younger than it is.
    ///
    /// ```
    /// use tenths_domain::substitution::DateCode;
    /// assert_eq!(DateCode::parse("2026-W07"), DateCode::parse("2026-02"));
    /// assert_eq!(DateCode::parse("2026"), DateCode::parse("2026-01"));
    /// assert_eq!(DateCode::parse("B7"), None);
    /// ```
    pub fn parse(text: &str) -> Option<Self> {
        let (year, rest) = text.split_once('-').map_or((text, None), |(y, r)| (y, Some(r)));
        let year = digits(year, 4, 1900..=2999)?;
        let month = match rest {
            None => 1,
            Some(rest) => month_of(year, rest)?,
        };
        Some(DateCode { months: year * 12 + month - 1 })
    }

    /// The month of a time in Unix microseconds.
    pub fn at(micros: i64) -> Self {
        let (year, month) = civil(micros.div_euclid(MICROS_PER_DAY));
        DateCode { months: year * 12 + month - 1 }
    }
}

fn digits(text: &str, length: usize, allowed: std::ops::RangeInclusive<i64>) -> Option<i64> {
    let plain = text.len() == length && text.bytes().all(|byte| byte.is_ascii_digit());
    text.parse().ok().filter(|number| plain && allowed.contains(number))
}

fn month_of(year: i64, rest: &str) -> Option<i64> {
    if let Some(week) = rest.strip_prefix(['W', 'w']) {
        // Monday of ISO week 1 is that of the week with 4 January in it.
        let fourth = days(year, 1, 4);
        let monday = fourth - (fourth + 3).rem_euclid(7);
        let (of_year, month) = civil(monday + (digits(week, 2, 1..=53)? - 1) * 7);
        return Some(if of_year < year { 1 } else { month });
    }
    let (month, day) = rest.split_once('-').map_or((rest, None), |(m, d)| (m, Some(d)));
    if let Some(day) = day {
        digits(day, 2, 1..=31)?;
    }
    digits(month, 2, 1..=12)
}

/// Days since 1970-01-01 of a date of the Gregorian calendar.
fn days(year: i64, month: i64, day: i64) -> i64 {
    // Years begin in March here, so that the leap day comes last.
    let (year, month) = if month > 2 { (year, month - 3) } else { (year - 1, month + 9) };
    let era = year.div_euclid(400);
    let of_era = year.rem_euclid(400);
    let of_year = (153 * month + 2) / 5 + day - 1;
    era * 146_097 + of_era * 365 + of_era / 4 - of_era / 100 + of_year - 719_468
}

/// Year and month of a day since 1970-01-01.
fn civil(day: i64) -> (i64, i64) {
    let (mut low, mut high) = (day / 366 + 1968, day / 365 + 1972);
    while high - low > 1 {
        let middle = (low + high) / 2;
        if days(middle, 1, 1) <= day { low = middle } else { high = middle }
    }
    let month = (1..=12).rev().find(|month| days(low, *month, 1) <= day).unwrap_or(1);
    (low, month)
}

/// The shop's policy on how old a date-coded rolling bearing may be.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct AgeLimit {
    months: i64,
}

/// A limit that makes no sense.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("an age limit of {0} months is not possible; allowed: 1 to 600")]
pub struct AgeLimitError(pub i64);

impl AgeLimit {
    /// So many months.
    ///
    /// # Errors
    /// Fewer than 1 or more than 600.
    pub const fn months(months: i64) -> Result<Self, AgeLimitError> {
        if months >= 1 && months <= 600 {
            Ok(AgeLimit { months })
        } else {
            Err(AgeLimitError(months))
        }
    }

    /// How many months.
    pub const fn count(self) -> i64 {
        self.months
    }

    /// Whether a part of this date code is older than the limit at a time in Unix microseconds.
    ///
    /// ```
    /// use tenths_domain::substitution::{AgeLimit, DateCode, PUBLISHED_AGE_LIMIT};
    /// let limit = AgeLimit::months(PUBLISHED_AGE_LIMIT).unwrap();
    /// let september_2026 = 1_790_000_000_000_000;
    /// assert!(!limit.is_passed(DateCode::parse("2022-12").unwrap(), september_2026));
    /// assert!(limit.is_passed(DateCode::parse("2022-11").unwrap(), september_2026));
    /// ```
    pub fn is_passed(self, code: DateCode, now: i64) -> bool {
        DateCode::at(now).months - code.months > self.months
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Goal: the calendar is right; method: days that everybody can look up, and every month of
    /// 1,100 years there and back.
    #[test]
    fn the_calendar_is_gregorian() {
        assert_eq!(days(1970, 1, 1), 0);
        assert_eq!(days(2000, 3, 1), 11_017);
        assert_eq!(days(2026, 9, 21), 20_717);
        for year in 1900..3000 {
            for month in 1..=12 {
                let first = days(year, month, 1);
                assert_eq!(civil(first), (year, month));
                assert_ne!(civil(first - 1), (year, month));
            }
        }
    }

    #[test]
    fn what_is_no_date_code_is_not_read_as_one() {
        for text in ["", "26", "2026-", "2026-13", "2026-00", "2026-W54", "2026-3", "20260", "x"] {
            assert_eq!(DateCode::parse(text), None, "{text}");
        }
        assert_eq!(DateCode::parse("2026-03-14"), DateCode::parse("2026-03"));
        // ISO 8601: week 1 of 2026 begins on 29 December 2025.
        assert_eq!(DateCode::parse("2026-W01"), DateCode::parse("2026-01"));
        assert_eq!(DateCode::parse("2026-W53"), DateCode::parse("2026-12"));
        assert!(DateCode::parse("2025-12") < DateCode::parse("2026-01"));
    }
}
