//! The traveler of a job: one page of HTML to print, black on white, without scripts and without
//! anything from elsewhere. Every text in it is as the server gave it, escaped.

mod html;
#[cfg(test)]
mod tests;

use crate::output::cell::{length_text, range_text};
use crate::words::word;
use html::{escaped, pairs, row};
use std::collections::HashMap;
use tenths_domain::units::Unit;
use tenths_proto::v1;

/// What a traveler is made of.
pub(crate) struct Traveler<'a> {
    pub(crate) job: &'a v1::Job,
    pub(crate) piece: &'a v1::Piece,
    pub(crate) item: &'a v1::Item,
    /// Every reading of the job's feature, in order of recording.
    pub(crate) readings: &'a [v1::Reading],
    /// The unit of sizes; without one as they were written.
    pub(crate) unit: Option<Unit>,
}

/// How many places a size is read at after the work: two planes, crosswise, and one to spare.
const READINGS_AFTER: usize = 5;

const BASIS: &str = "This sheet rests on the numbers that were entered. The maker's data, local codes \
    and qualified people govern; if anything differs from what is written here, stop and ask.";

/// Said on every traveler: the mistake that the trade makes most.
const PER_SIDE: &str = "PER SIDE and ON DIAMETER are both written below. Taking 0.005 off per side \
    takes 0.010 off the diameter: read the column that your machine's dial counts in.";

impl Traveler<'_> {
    /// The page.
    pub(crate) fn page(&self) -> String {
        let title = format!("Traveler {}", self.job.tag);
        let body = [
            format!("<h1>{}</h1>\n", escaped(&title)),
            pairs(&self.heading()),
            format!("<h2>Size</h2>\n{}", pairs(&self.sizes())),
            match self.is_width() {
                true => String::new(),
                false => format!("<p class=\"mind\">{}</p>\n", escaped(PER_SIDE)),
            },
            self.operations(),
            self.after(),
            format!("<p class=\"basis\">{}</p>\n", escaped(BASIS)),
        ];
        html::page(&title, &body.concat())
    }

    fn heading(&self) -> Vec<(&'static str, String)> {
        let (job, piece) = (self.job, self.piece);
        let item = [&self.item.code, &self.item.designation, &self.item.description];
        let item: Vec<&str> =
            item.into_iter().map(String::as_str).filter(|it| !it.is_empty()).collect();
        let policy = job.policy_version.map_or_else(
            || "none: the work was asked for by a person".to_owned(),
            |version| format!("version {version}"),
        );
        let material = match piece.material() {
            v1::Material::Unspecified => self.item.material(),
            known => known,
        };
        vec![
            ("piece", piece.tag.clone()),
            ("item", item.join(", ")),
            ("feature", format!("{} ({})", job.feature, self.feature_kind())),
            ("work", word(job.method().as_str_name(), "METHOD_").replace('_', " ")),
            ("why", job.reason.clone()),
            ("for rebuild", job.rebuild_tag.clone()),
            ("rework of", job.rework_of.clone()),
            ("due", job.due_time.as_ref().map(crate::entry::times::shown).unwrap_or_default()),
            ("material", known(&word(material.as_str_name(), "MATERIAL_"))),
            ("hardness", known(&piece.hardness)),
            ("built up before", self.built_up()),
            // Once the job has ended it lies somewhere else.
            (
                "taken from",
                if self.ended().is_some() { String::new() } else { piece.location_code.clone() },
            ),
            ("policy", policy),
        ]
    }

    fn feature(&self) -> Option<&v1::Feature> {
        self.item.features.iter().find(|feature| feature.name == self.job.feature)
    }

    fn feature_kind(&self) -> String {
        let kind = self.feature().map(|feature| feature.kind()).unwrap_or_default();
        word(kind.as_str_name(), "FEATURE_KIND_").replace('_', " ")
    }

    fn built_up(&self) -> String {
        let words = word(self.piece.built_up().as_str_name(), "BUILT_UP_");
        if words == "unspecified" { "not known: look before grinding".to_owned() } else { words }
    }

    fn sizes(&self) -> Vec<(&'static str, String)> {
        let size = self.piece.sizes.iter().find(|size| size.feature == self.job.feature);
        let now = size.map(|size| self.range(&size.min, &size.max)).unwrap_or_default();
        let doubt = size.map(|size| self.length(&size.expanded_uncertainty)).unwrap_or_default();
        // Once the job has ended the piece's size is what came of it.
        let (before, doubt) = match self.ended() {
            None => (now, doubt),
            Some(_) => (self.ends_of(&self.read_before()), String::new()),
        };
        let target = self.range(&self.job.target_lower, &self.job.target_upper);
        let target = if target.is_empty() { self.own_limits() } else { target };
        vec![
            (
                "before (at 20 C)",
                if before.is_empty() { "not measured".to_owned() } else { before },
            ),
            ("uncertainty (k=2)", doubt),
            (if self.is_width() { "finish to, width" } else { "finish to, ON DIAMETER" }, target),
        ]
    }

    /// A keyseat has a width and no diameter.
    fn is_width(&self) -> bool {
        self.feature().is_some_and(|feature| feature.kind() == v1::FeatureKind::Keyseat)
    }

    /// When the job ended; nothing while it is open.
    fn ended(&self) -> Option<Time> {
        let ended = self.job.state() == v1::JobState::Done;
        let times = self.job.operations.iter().filter_map(|one| moment(&one.finish_time));
        times.max().filter(|_| ended)
    }

    /// The readings of the job's own re-measurement, once it has ended with one: they are recorded as
    /// it ends.
    fn read_after(&self) -> Vec<&v1::Reading> {
        let ended = self.ended();
        let at_the_end = |one: &&v1::Reading| ended.is_some() && moment(&one.time) == ended;
        self.standing().filter(at_the_end).collect()
    }

    /// The readings that stood before the job ended, the newest of each place: those of the round
    /// before its own, the station that does not wear left out.
    fn read_before(&self) -> Vec<&v1::Length> {
        let ended = self.ended();
        let earlier = |one: &&v1::Reading| moment(&one.time) < ended;
        let reference = self.feature().map(|feature| feature.reference_station.as_str());
        let before = || {
            let wears = |one: &&v1::Reading| Some(one.station.as_str()) != reference;
            self.standing().filter(earlier).filter(wears)
        };
        let round = before().map(|reading| reading.round).max();
        let of_round = before().filter(|reading| Some(reading.round) == round);
        let newest: HashMap<(&str, i32), &v1::Reading> =
            of_round.map(|one| ((one.station.as_str(), one.orientation_deg), one)).collect();
        newest.into_values().filter_map(|reading| reading.value_at_20c.as_ref()).collect()
    }

    fn standing(&self) -> impl Iterator<Item = &v1::Reading> {
        self.readings.iter().filter(|reading| reading.void.is_none())
    }

    /// Sizes, from the smallest to the largest.
    fn ends_of(&self, sizes: &[&v1::Length]) -> String {
        let smallest = sizes.iter().min_by_key(|size| size.nm).copied().cloned();
        let largest = sizes.iter().max_by_key(|size| size.nm).copied().cloned();
        self.span(&smallest, &largest)
    }

    /// The item's own limits, where the job asks for no other size.
    fn own_limits(&self) -> String {
        let Some(feature) = self.feature() else { return String::new() };
        let nominal = self.length(&feature.nominal);
        match &feature.tolerance {
            Some(v1::feature::Tolerance::Limits(limits)) => {
                self.range(&limits.lower, &limits.upper)
            }
            Some(v1::feature::Tolerance::ToleranceClass(class)) => format!("{nominal} {class}"),
            Some(v1::feature::Tolerance::RingClass(class)) => {
                format!("{nominal}, ring class {class}")
            }
            None => format!("{nominal}, no limits known"),
        }
    }

    fn operations(&self) -> String {
        let headings = [
            "no.",
            "operation",
            "on",
            "from",
            "to",
            "PER SIDE",
            "ON DIAMETER",
            "min",
            "done by, date",
        ];
        let mut table = format!("<h2>Operations</h2>\n<table>\n{}", row("th", &headings));
        for operation in &self.job.operations {
            table.push_str(&self.operation(operation));
        }
        table + "</table>\n"
    }

    fn operation(&self, operation: &v1::Operation) -> String {
        let Some(plan) = &operation.plan else { return String::new() };
        let machine = word(plan.machine().as_str_name(), "WORK_MACHINE_").replace('_', " ");
        let vendor = if plan.vendor.is_empty() { "a vendor" } else { plan.vendor.as_str() };
        let place = match plan.site() {
            v1::Site::Vendor => format!("sent out: {vendor}"),
            _ => machine,
        };
        let cells = [
            operation.position.to_string(),
            word(plan.kind().as_str_name(), "OPERATION_KIND_").replace('_', " "),
            place,
            self.length(&plan.from),
            self.span(&plan.to_lower, &plan.to_upper),
            self.length(&plan.change_per_side),
            self.length(&plan.change_on_diameter),
            plan.minutes.map(|minutes| minutes.to_string()).unwrap_or_default(),
            signed(operation),
        ];
        let cells: Vec<&str> = cells.iter().map(String::as_str).collect();
        let mut said = vec![plan.text.clone()];
        if !operation.note.is_empty() {
            said.push(format!("Note: {}", operation.note));
        }
        said.extend(plan.cautions.iter().map(|caution| format!("Caution: {caution}")));
        let said: Vec<String> = said.iter().map(|text| escaped(text)).collect();
        let beneath = said.join("<br>");
        format!(
            "{}<tr class=\"say\"><td></td><td colspan=\"8\">{beneath}</td></tr>\n",
            row("td", &cells)
        )
    }

    /// What was read after the work, or boxes for it, and who releases the piece.
    fn after(&self) -> String {
        let after = self.read_after();
        if !after.is_empty() {
            let place =
                |one: &v1::Reading| format!("station {}, {}", one.station, one.orientation_deg);
            let places: Vec<String> = after.iter().copied().map(place).collect();
            let sizes: Vec<String> =
                after.iter().map(|one| self.length(&one.value_at_20c)).collect();
            let cells = |texts: &[String], kind| {
                let texts: Vec<&str> = texts.iter().map(String::as_str).collect();
                row(kind, &texts)
            };
            let outcome = word(self.job.outcome().as_str_name(), "JOB_OUTCOME_").replace('_', " ");
            return format!(
                "<h2>After (at 20 C): {}</h2>\n<table>\n{}{}</table>\n",
                escaped(&outcome),
                cells(&places, "th"),
                cells(&sizes, "td"),
            );
        }
        let boxes: Vec<&str> = vec![""; READINGS_AFTER];
        let places = ["station A, 0", "station A, 90", "station B, 0", "station B, 90", "other"];
        format!(
            "<h2>After</h2>\n<table class=\"boxes\">\n{}{}</table>\n<table class=\"boxes\">\n{}{}</table>\n",
            row("th", &places),
            row("td", &boxes),
            row("th", &["gauge", "temperature", "measured by", "date", "released by"]),
            row("td", &boxes),
        )
    }

    fn length(&self, length: &Option<v1::Length>) -> String {
        length.as_ref().map(|length| length_text(length, self.unit)).unwrap_or_default()
    }

    fn range(&self, lower: &Option<v1::Length>, upper: &Option<v1::Length>) -> String {
        range_text(&self.length(lower), &self.length(upper))
    }

    /// A size with its tolerance, or one size where it has none.
    fn span(&self, lower: &Option<v1::Length>, upper: &Option<v1::Length>) -> String {
        match (lower, upper) {
            (Some(one), Some(other)) if one.nm == other.nm => self.length(lower),
            _ => self.range(lower, upper),
        }
    }
}

/// Seconds and nanoseconds, which compare in order.
type Time = (i64, i32);

fn moment(time: &Option<prost_types::Timestamp>) -> Option<Time> {
    time.as_ref().map(|time| (time.seconds, time.nanos))
}

/// Who did an operation and when, if it has ended; else room to sign.
fn signed(operation: &v1::Operation) -> String {
    let state = word(operation.state().as_str_name(), "OPERATION_STATE_");
    match &operation.finish_time {
        Some(time) => {
            let parts = [operation.worker.clone(), crate::entry::times::shown(time), state];
            parts.into_iter().filter(|part| !part.is_empty()).collect::<Vec<_>>().join(", ")
        }
        None => String::new(),
    }
}

fn known(text: &str) -> String {
    match text {
        "" | "unspecified" => "not known".to_owned(),
        known => known.replace('_', " "),
    }
}
