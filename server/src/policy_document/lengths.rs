//! Every length of a document, so that each says its nanometres beside what was written.

use crate::grpc::check::Check;
use tenths_proto::v1 as pb;

/// The document with the nanometres of every length filled in. What is no length stays as it is: the
/// document was read before.
pub fn measured(mut wire: pb::Policy) -> pb::Policy {
    for length in lengths(&mut wire) {
        // A check of its own: the refusals were told where the document was read.
        if let Some(entry) = Check::new().optional_amount("", Some(length)) {
            length.nm = entry.length.nm();
        }
    }
    wire
}

fn lengths(wire: &mut pb::Policy) -> Vec<&mut pb::Length> {
    let mut found: Vec<&mut pb::Length> = Vec::new();
    found.extend(wire.inch_steps.iter_mut().flat_map(|steps| &mut steps.values));
    found.extend(wire.metric_steps.iter_mut().flat_map(|steps| &mut steps.values));
    let band = wire.queue.iter_mut().filter_map(|queue| queue.band_width.as_mut());
    let single = [wire.grinding_allowance.as_mut(), wire.straighten_from.as_mut()];
    let noted = single.into_iter().flatten().chain(band);
    let noted = noted.chain(wire.features.iter_mut().flat_map(of_feature));
    found.extend(noted.filter_map(|noted| noted.value.as_mut()));
    found.extend(wire.methods.iter_mut().flat_map(of_method));
    found
}

fn of_feature(entry: &mut pb::FeaturePolicy) -> impl Iterator<Item = &mut pb::NotedLength> {
    let limits = [
        entry.wear_limit.as_mut(),
        entry.out_of_round_limit.as_mut(),
        entry.taper_limit.as_mut(),
        entry.run_out_limit.as_mut(),
        entry.past_limit_max.as_mut(),
        entry.polish_max.as_mut(),
        entry.finish_tolerance.as_mut(),
        entry.stock_removal_max.as_mut(),
    ];
    limits.into_iter().flatten()
}

fn of_method(entry: &mut pb::MethodPolicy) -> impl Iterator<Item = &mut pb::Length> {
    let thicknesses = [
        entry.per_side_min.as_mut(),
        entry.per_side_max.as_mut(),
        entry.over_build_per_side.as_mut(),
    ];
    thicknesses.into_iter().flatten()
}
