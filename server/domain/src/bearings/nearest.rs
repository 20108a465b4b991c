//! The known number that lies nearest to one that is not known.

use super::series::SERIES;

/// Longer numbers are cut before the nearest is sought: it bounds the work.
const NUMBER_LENGTH_MAX: usize = 12;

/// The known number with the fewest figures to change, then the least difference as a number.
pub(super) fn nearest(number: &str) -> String {
    let cut = number.char_indices().nth(NUMBER_LENGTH_MAX).map_or(number.len(), |(at, _)| at);
    // A letter that looks like a figure was meant as one.
    let number = &number[..cut].replace(['O', 'o'], "0").replace(['I', 'l'], "1");
    let value: i64 = number.parse().unwrap_or(0);
    SERIES
        .iter()
        .flat_map(|series| series.spellings())
        .min_by_key(|name| {
            let difference = name.parse::<i64>().map_or(i64::MAX, |name| (name - value).abs());
            (edits(number.as_bytes(), name.as_bytes()), difference)
        })
        .expect("some numbers are known")
}

/// The least number of characters to change, add or drop between two numbers.
fn edits(from: &[u8], to: &[u8]) -> usize {
    let mut row: Vec<usize> = (0..=to.len()).collect();
    for (i, a) in from.iter().enumerate() {
        let mut diagonal = row[0];
        row[0] = i + 1;
        for (j, b) in to.iter().enumerate() {
            let changed = diagonal + usize::from(a != b);
            diagonal = row[j + 1];
            row[j + 1] = changed.min(row[j] + 1).min(diagonal + 1);
        }
    }
    row[to.len()]
}
