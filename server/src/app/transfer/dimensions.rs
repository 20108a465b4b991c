//! The readings of a piece in one cell: `seat-a@A0=1.1809 in; bore=25.002 mm by M-07`.

use super::cell::{feature_name, shown, station, tag};
use tenths_domain::units::{Entry, Length};

/// What stands before the gauge of one reading.
const BY: &str = " by ";
/// Where a reading without a place was taken.
const PLACE: (&str, u16) = ("A", 0);
const ALLOWED: &str = "allowed: readings such as seat-a@A90=1.1809 in or bore=25.002 mm, each with \
                       its unit, parted by ;";

/// One reading of the cell.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Dimension {
    /// The feature.
    pub(super) feature: String,
    /// The place along the axis.
    pub(super) station: String,
    /// The direction across the axis.
    pub(super) orientation_deg: u16,
    /// The value at 20 C.
    pub(super) entry: Entry,
    /// The gauge, if another than the row's.
    pub(super) gauge: Option<String>,
}

impl Dimension {
    /// The feature and the place on it.
    pub(super) fn place(&self) -> String {
        format!("{}@{}{}", self.feature, self.station, self.orientation_deg)
    }

    /// As it stands in the cell.
    pub(super) fn text(&self) -> String {
        let gauge = self.gauge.as_ref().map(|tag| format!("{BY}{tag}"));
        format!("{}={}{}", self.place(), self.entry, gauge.unwrap_or_default())
    }

    /// Whether it is so far from a nominal size that it was taken of another place, or in another
    /// unit: by more than 30 %.
    pub(super) fn is_far_from(&self, nominal: Length) -> bool {
        let off = (self.entry.length - nominal).abs();
        i128::from(off.nm()) * 10 > i128::from(nominal.nm()) * 3
    }
}

/// Reads a cell; every reading that cannot be read is named.
pub(super) fn read(text: &str) -> Result<Vec<Dimension>, String> {
    let (mut dimensions, mut faults) = (Vec::new(), Vec::new());
    for part in text.split(';').map(str::trim).filter(|part| !part.is_empty()) {
        match dimension(part) {
            Ok(dimension) => dimensions.push(dimension),
            Err(fault) => faults.push(format!("{:?}: {fault}", shown(part))),
        }
    }
    if faults.is_empty() {
        return Ok(dimensions);
    }
    let more = faults.len().saturating_sub(FAULTS_MAX);
    faults.truncate(FAULTS_MAX);
    let and_more = if more > 0 { format!(", and {more} more") } else { String::new() };
    Err(format!("{}{and_more}; {ALLOWED}", faults.join("; ")))
}

/// Most readings of a cell whose faults are named.
const FAULTS_MAX: usize = 5;

/// Cells back from readings.
pub(super) fn write(dimensions: &[Dimension]) -> String {
    dimensions.iter().map(Dimension::text).collect::<Vec<_>>().join("; ")
}

fn dimension(part: &str) -> Result<Dimension, String> {
    let (place, value) = part.split_once('=').ok_or("it has no =")?;
    let (feature, place) = match place.split_once('@') {
        Some((feature, place)) => (feature, Some(place)),
        None => (place, None),
    };
    let (station, orientation_deg) = match place {
        Some(place) => station_and_orientation(place.trim())?,
        None => (PLACE.0.to_owned(), PLACE.1),
    };
    let (value, gauge) = match value.rsplit_once(BY) {
        Some((value, gauge)) => (value, Some(tag(gauge.trim())?)),
        None => (value, None),
    };
    let entry = Entry::parse_with_suffix(value, None).map_err(|error| error.to_string())?;
    Ok(Dimension { feature: feature_name(feature.trim())?, station, orientation_deg, entry, gauge })
}

/// `REF90` as `REF` and 90.
fn station_and_orientation(place: &str) -> Result<(String, u16), String> {
    let digits = place.trim_start_matches(|c: char| c.is_ascii_alphabetic());
    let letters = station(&place[..place.len() - digits.len()])?;
    let plain = (1..=3).contains(&digits.len()) && digits.bytes().all(|byte| byte.is_ascii_digit());
    match digits.parse::<u16>() {
        Ok(degrees) if plain && degrees <= 359 => Ok((letters, degrees)),
        _ => Err(format!("{:?} is no orientation; allowed are 0 to 359 degrees", shown(digits))),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_form_of_a_reading_is_read_and_written_back() {
        let text =
            "seat-a@A0=1.1809 in; seat-a@ref90 = 1.1808in by M-07 ;bore=25.002 mm; k@B359=1 3/16\"";
        let read = read(text).unwrap();
        let written = "seat-a@A0=1.1809 in; seat-a@REF90=1.1808 in by M-07; bore@A0=25.002 mm; \
                       k@B359=1 3/16 in";
        assert_eq!(write(&read), written);
        assert_eq!(super::read(written).unwrap(), read);
        assert_eq!(super::read(" ; ").unwrap(), []);
    }

    #[test]
    fn every_fault_of_a_cell_is_named() {
        let reason =
            read("seat-a@A0=1.1809; bore@9=25 mm; bore@A360=25 mm; Bore=25 mm; 25").unwrap_err();
        for told in ["\"seat-a@A0=1.1809\"", "\"bore@9=25 mm\"", "0 to 359", "a-z 0-9", "has no ="]
        {
            assert!(reason.contains(told), "{told}: {reason}");
        }
        assert!(reason.ends_with(ALLOWED), "{reason}");
        let many = read(&"x;".repeat(8)).unwrap_err();
        assert!(many.contains("and 3 more"), "{many}");
    }

    #[test]
    fn thirty_percent_is_the_last_that_is_near() {
        let near = |text: &str| !read(text).unwrap()[0].is_far_from(Length::from_nm(20_000_000));
        assert!(near("bore=26 mm") && near("bore=14 mm"));
        assert!(!near("bore=26.000001 mm") && !near("bore=13.999999 mm"));
    }
}
