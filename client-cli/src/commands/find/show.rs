//! What is shown of an answer beside its rows.

use crate::failure::Failure;
use crate::lines::hanging;
use crate::memory::Row;
use crate::output::cell::{length_text, range_text};
use tenths_domain::units::Unit;
use tenths_proto::v1;
use tenths_proto::v1::fit_candidate::Stock;

/// A row as the next run may name it.
pub(super) fn remembered(candidate: Option<&v1::FitCandidate>) -> Option<Row> {
    Some(match candidate?.stock.clone()? {
        Stock::PieceTag(tag) => Row::Piece(tag),
        Stock::LotTag(tag) => Row::Lot(tag),
    })
}

/// The refusal of a row number that the answer does not have.
pub(super) fn no_such_row(number: i32, fits: &[v1::Fit]) -> Failure {
    Failure::Usage(match (fits.first(), fits.last()) {
        (Some(first), Some(last)) => {
            format!("--explain {number}: no such row; rows {} to {} fit", first.row, last.row)
        }
        _ => format!("--explain {number}: no such row; nothing fits"),
    })
}

/// What was judged, and what it had to be of the first listed. That requirement is taken out of
/// the answer wherever it stands, so that a row has one only where it differs.
pub(super) fn headline(
    answer: &mut v1::FindFitResponse,
    unit: Option<Unit>,
    columns: usize,
) -> String {
    let misses = answer.misses.iter_mut().filter_map(|miss| miss.fit.as_mut());
    let mut listed: Vec<&mut v1::Fit> = answer.fits.iter_mut().chain(misses).collect();
    let requirement = |fit: &v1::Fit| {
        (fit.required_min.clone(), fit.required_max.clone(), fit.requirement_source.clone())
    };
    let Some(common) = listed.first().map(|fit| requirement(fit)) else { return String::new() };
    for fit in listed.iter_mut().filter(|fit| requirement(fit) == common) {
        (fit.required_min, fit.required_max) = (None, None);
        fit.requirement_source.clear();
    }
    let (least, most, source) = common;
    let mut lines = String::new();
    let mut line = |label: &str, range: String, beside: String| {
        if !range.is_empty() {
            let beside = if beside.is_empty() { beside } else { format!(" ({beside})") };
            lines += &hanging(&format!("{label}: "), &format!("{range}{beside}"), 2, columns);
        }
    };
    let shown = |length: Option<&v1::Length>| {
        length.map(|length| length_text(length, unit)).unwrap_or_default()
    };
    let uncertainty = shown(answer.expanded_uncertainty.as_ref());
    let doubt = if uncertainty.is_empty() { uncertainty } else { format!("U {uncertainty}, k=2") };
    let (smallest, largest) = (answer.measured_min.as_ref(), answer.measured_max.as_ref());
    let size = if smallest == largest {
        shown(smallest)
    } else {
        range_text(&shown(smallest), &shown(largest))
    };
    line("measured", size, doubt);
    line("required", range_text(&shown(least.as_ref()), &shown(most.as_ref())), source);
    lines
}
