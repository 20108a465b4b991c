//! Times and spans as typed. A bare date means the last second of that day in UTC.

use jiff::civil::Date;
use jiff::tz::TimeZone;
use jiff::{Timestamp, ToSpan};
use std::time::Duration;

/// What help texts say of times.
pub(crate) const HELP: &str =
    "RFC 3339 (2026-12-01T17:00Z, seconds optional), or a date, meaning 23:59:59 UTC of that day";

/// Reads `2026-12-01T17:00Z`, `2026-12-01T17:00:00+02:00` or `2026-12-01`.
pub(crate) fn time(text: &str) -> Result<prost_types::Timestamp, String> {
    let time = if text.len() == "2026-12-01".len() {
        text.parse::<Date>().ok().and_then(end_of_day)
    } else if text.as_bytes().get(10).is_some_and(|byte| matches!(byte, b'T' | b't' | b' ')) {
        text.parse::<Timestamp>().ok()
    } else {
        None
    };
    time.map(on_wire).ok_or_else(|| {
        "write 2026-12-01T17:00Z, 2026-12-01T17:00:00+01:00, or a date such as 2026-12-01, \
         which means 23:59:59 UTC of that day"
            .to_owned()
    })
}

fn end_of_day(date: Date) -> Option<Timestamp> {
    Some(date.at(23, 59, 59, 0).to_zoned(TimeZone::UTC).ok()?.timestamp())
}

/// Reads a span such as `3d`, `12h`, `30m` or `45s`: one whole number and one unit.
pub(crate) fn span(text: &str) -> Result<Duration, String> {
    let refused = || "write a whole number and d, h, m or s, such as 3d, 12h or 30m".to_owned();
    let unit = text.chars().last().ok_or_else(refused)?;
    let seconds_per_unit = match unit {
        'd' => 86_400,
        'h' => 3_600,
        'm' => 60,
        's' => 1,
        _ => return Err(refused()),
    };
    let number = &text[..text.len() - unit.len_utf8()];
    if number.is_empty() || !number.bytes().all(|byte| byte.is_ascii_digit()) {
        return Err(refused());
    }
    let number: u64 = number.parse().map_err(|_| refused())?;
    let seconds = number.checked_mul(seconds_per_unit).filter(|seconds| *seconds <= SPAN_S_MAX);
    seconds.map(Duration::from_secs).ok_or_else(|| "at most 3660d are taken".to_owned())
}

/// Ten years: keeps arithmetic safe; what a hold may last, the server says.
const SPAN_S_MAX: u64 = 3_660 * 86_400;

/// A span on the wire.
pub(crate) fn span_on_wire(span: Duration) -> prost_types::Duration {
    let seconds = i64::try_from(span.as_secs()).unwrap_or(i64::MAX);
    prost_types::Duration { seconds, nanos: 0 }
}

/// A point of time, `span` after `from`; nothing where that is past the calendar.
pub(crate) fn after(
    from: &prost_types::Timestamp,
    span: Duration,
) -> Option<prost_types::Timestamp> {
    let seconds = i64::try_from(span.as_secs()).ok()?;
    let later = from_wire(from)?.checked_add(seconds.seconds()).ok()?;
    Some(on_wire(later))
}

/// The current time on this machine.
pub(crate) fn now() -> prost_types::Timestamp {
    on_wire(Timestamp::now())
}

/// A time for people: `2026-12-01 17:00`, the minute that it is in UTC. The end of a day is
/// shown on that day.
pub(crate) fn shown(time: &prost_types::Timestamp) -> String {
    let minute = |time: Timestamp| time.strftime("%Y-%m-%d %H:%M").to_string();
    from_wire(time).map_or_else(|| format!("{} s", time.seconds), minute)
}

/// A time for a column of CSV: RFC 3339, UTC, whole seconds.
pub(crate) fn whole(time: &prost_types::Timestamp) -> String {
    let whole = prost_types::Timestamp { seconds: time.seconds, nanos: 0 };
    exact(&whole).unwrap_or_else(|| format!("{} s", time.seconds))
}

/// A time for programs: RFC 3339, UTC, as fine as it was sent.
pub(crate) fn exact(time: &prost_types::Timestamp) -> Option<String> {
    from_wire(time).map(|time| time.to_string())
}

fn on_wire(time: Timestamp) -> prost_types::Timestamp {
    // The wire wants nanoseconds that count upwards, also before 1970.
    let (mut seconds, mut nanos) = (time.as_second(), time.subsec_nanosecond());
    if nanos < 0 {
        seconds -= 1;
        nanos += 1_000_000_000;
    }
    prost_types::Timestamp { seconds, nanos }
}

fn from_wire(time: &prost_types::Timestamp) -> Option<Timestamp> {
    Timestamp::new(time.seconds, time.nanos).ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn times_are_read_and_shown_in_utc() {
        for (text, for_csv, for_people) in [
            ("2026-12-01T17:00Z", "2026-12-01T17:00:00Z", "2026-12-01 17:00"),
            ("2026-12-01T17:00:30.75Z", "2026-12-01T17:00:30Z", "2026-12-01 17:00"),
            ("2026-12-01T17:00:00+02:00", "2026-12-01T15:00:00Z", "2026-12-01 15:00"),
            ("2026-12-01", "2026-12-01T23:59:59Z", "2026-12-01 23:59"),
            ("2024-02-29", "2024-02-29T23:59:59Z", "2024-02-29 23:59"),
            ("9999-12-29", "9999-12-29T23:59:59Z", "9999-12-29 23:59"),
            ("1969-12-31T23:59:59.5Z", "1969-12-31T23:59:59Z", "1969-12-31 23:59"),
        ] {
            let read = time(text).unwrap();
            assert_eq!((whole(&read).as_str(), shown(&read).as_str()), (for_csv, for_people));
        }
        let exact = exact(&time("2026-12-01T17:00:30.75Z").unwrap());
        assert_eq!(exact.as_deref(), Some("2026-12-01T17:00:30.75Z"));
    }

    #[test]
    fn half_times_and_impossible_days_are_refused() {
        for text in ["", "17:00", "2026-12-01T17:00", "2026-02-30", "01.12.2026", "tomorrow", "3d"]
        {
            assert!(time(text).is_err(), "{text}");
        }
    }

    #[test]
    fn spans_are_one_number_and_one_unit() {
        for (text, seconds) in [("3d", 259_200), ("12h", 43_200), ("30m", 1_800), ("45s", 45)] {
            assert_eq!(span(text).unwrap().as_secs(), seconds);
        }
        for text in ["", "d", "3", "-3d", "1.5h", "3 d", "3w", "99999999999999999999d", "9999d"] {
            assert!(span(text).is_err(), "{text}");
        }
    }

    #[test]
    fn a_span_after_a_time() {
        let later = after(&time("2026-12-31T17:00Z").unwrap(), span("3d").unwrap()).unwrap();
        assert_eq!(shown(&later), "2027-01-03 17:00");
    }
}
