//! The catalogue of the benchmark's shop, made through the shop's own rpcs, so that its rows are
//! what the server itself writes: standard sizes, the items of each, places, gauges, rebuilds.

use std::collections::BTreeMap;

use tenths_proto::v1::feature::Tolerance;
use tenths_proto::v1::{
    Feature, FeatureKind, Gauge, GetBearingRequest, GetBearingResponse, GetLimitsRequest, Item,
    ItemKind, LengthUnit, LocationKind, Material, SettingMethod,
};
use tenths_tests::{Bench, Clients, days, done, from_now, length, mm, nm};

/// The bores of bore codes 00 to 20 in mm, the one that most machines have first: stock crowds on
/// the first few. Which are common is shop experience, no published source.
pub(crate) const BORES_MM: [i64; 21] =
    [25, 20, 30, 17, 35, 15, 40, 12, 45, 50, 10, 55, 60, 65, 70, 75, 80, 85, 90, 95, 100];
/// Series of deep groove ball bearings, the most common first.
pub(crate) const SERIES: [&str; 3] = ["62", "60", "63"];
/// Classes of the seats that shafts have for them.
pub(crate) const SEAT_CLASSES: [&str; 2] = ["k5", "j6"];
/// How many places there are to keep stock in.
pub(crate) const LOCATIONS: usize = 200;
/// How many rebuilds hold stock.
pub(crate) const REBUILDS: usize = 50;

/// A gauge of the shop.
#[derive(Clone, Copy, Debug)]
pub(crate) struct GaugeFacts {
    /// The tag.
    pub(crate) tag: &'static str,
    /// One step, in its unit, as written.
    resolution: &'static str,
    /// Expanded uncertainty in its unit, as written.
    uncertainty: &'static str,
    /// The unit that it reads in.
    pub(crate) unit: LengthUnit,
    /// One step in nanometres.
    pub(crate) step_nm: i64,
    /// Expanded uncertainty in nanometres.
    pub(crate) uncertainty_nm: i64,
}

/// The gauges, in the order of their row numbers.
pub(crate) const GAUGES: [GaugeFacts; 3] = [
    GaugeFacts {
        tag: "M-1",
        resolution: "0.001",
        uncertainty: "0.002",
        unit: LengthUnit::Mm,
        step_nm: 1_000,
        uncertainty_nm: 2_000,
    },
    GaugeFacts {
        tag: "M-2",
        resolution: "0.0001",
        uncertainty: "0.0001",
        unit: LengthUnit::In,
        step_nm: 2_540,
        uncertainty_nm: 2_540,
    },
    GaugeFacts {
        tag: "M-3",
        resolution: "0.01",
        uncertainty: "0.006",
        unit: LengthUnit::Mm,
        step_nm: 10_000,
        uncertainty_nm: 6_000,
    },
];

/// Limits of size, in nanometres.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Limits {
    /// The smallest size.
    pub(crate) lower: i64,
    /// The largest size.
    pub(crate) upper: i64,
}

/// A bearing of the catalogue.
#[derive(Clone, Debug)]
pub(crate) struct Ring {
    /// The basic number.
    pub(crate) number: String,
    /// Nominal bore in nanometres.
    pub(crate) bore_nm: i64,
    /// Nominal outside diameter in nanometres.
    pub(crate) outside_nm: i64,
    /// Limits of the mean bore.
    pub(crate) bore: Limits,
    /// Limits of the mean outside diameter.
    pub(crate) outside: Limits,
}

/// What the standards say at every size of the shop, as the server answers it.
#[derive(Clone, Debug, Default)]
pub(crate) struct Sizes {
    /// Every bearing: by bore in the order of [`BORES_MM`], then by series.
    pub(crate) rings: Vec<Ring>,
    /// Limits of a class at a nominal size in nanometres.
    classes: BTreeMap<(&'static str, i64), Limits>,
}

impl Sizes {
    /// Limits of a class at a nominal size of the shop.
    pub(crate) fn class(&self, class: &'static str, nominal_nm: i64) -> Limits {
        self.classes[&(class, nominal_nm)]
    }

    /// The nominal bores of housings, smallest first.
    pub(crate) fn housings(&self) -> Vec<i64> {
        let mut found: Vec<i64> = self.rings.iter().map(|ring| ring.outside_nm).collect();
        found.sort_unstable();
        found.dedup();
        found
    }

    /// Asks the server.
    pub(crate) async fn ask(clients: &Clients) -> Self {
        let mut sizes = Self::default();
        for bore in BORES_MM {
            for series in SERIES {
                sizes.rings.push(ring(clients, &format!("{series}{}", bore_code(bore))).await);
            }
            let nominal = bore * 1_000_000;
            for class in SEAT_CLASSES.into_iter().chain(["H7", "f7"]) {
                let limits = class_limits(clients, class, nominal).await;
                sizes.classes.insert((class, nominal), limits);
            }
            let outside = bushing_outside(bore) * 1_000_000;
            let limits = class_limits(clients, "s6", outside).await;
            sizes.classes.insert(("s6", outside), limits);
        }
        for nominal in sizes.housings() {
            sizes.classes.insert(("H7", nominal), class_limits(clients, "H7", nominal).await);
        }
        sizes
    }
}

/// 00 to 03 for 10, 12, 15 and 17 mm, from 04 on a fifth of the bore (DIN 623-1:1993, from memory).
fn bore_code(bore_mm: i64) -> String {
    match bore_mm {
        10 => "00".to_owned(),
        12 => "01".to_owned(),
        15 => "02".to_owned(),
        17 => "03".to_owned(),
        _ => format!("{:02}", bore_mm / 5),
    }
}

/// The outside diameter of the bushing of a bore, in mm: a wall of 4 mm.
pub(crate) const fn bushing_outside(bore_mm: i64) -> i64 {
    bore_mm + 8
}

async fn ring(clients: &Clients, number: &str) -> Ring {
    let request =
        GetBearingRequest { designation: number.to_owned(), ..GetBearingRequest::default() };
    let found: GetBearingResponse =
        done("get_bearing", clients.standards().get_bearing(request).await);
    let limits = |range: &Option<tenths_proto::v1::SizeRange>| {
        let range = range.as_ref().expect("limits of a ring");
        Limits { lower: nm(&range.lower), upper: nm(&range.upper) }
    };
    Ring {
        number: number.to_owned(),
        bore_nm: nm(&found.bore),
        outside_nm: nm(&found.outside_diameter),
        bore: limits(&found.bore_limits),
        outside: limits(&found.outside_diameter_limits),
    }
}

async fn class_limits(clients: &Clients, class: &str, nominal_nm: i64) -> Limits {
    let request =
        GetLimitsRequest { size: mm(&whole_mm(nominal_nm)), tolerance_class: class.to_owned() };
    let found = done("get_limits", clients.fits().get_limits(request).await);
    Limits { lower: nm(&found.lower), upper: nm(&found.upper) }
}

fn whole_mm(nominal_nm: i64) -> String {
    (nominal_nm / 1_000_000).to_string()
}

/// Adds places, gauges, rebuilds and every item.
pub(crate) async fn furnish(clients: &Clients, sizes: &Sizes) {
    let bench = Bench::bare(clients);
    for number in 1..=LOCATIONS {
        bench.location(&format!("A-{number}"), LocationKind::Shelf).await;
    }
    for facts in GAUGES {
        bench.gauge(gauge(facts)).await;
    }
    for number in 1..=REBUILDS {
        bench.rebuild(&format!("R-{number}")).await;
    }
    for item in items(sizes) {
        bench.item(item).await;
    }
}

fn gauge(facts: GaugeFacts) -> Gauge {
    Gauge {
        tag: facts.tag.to_owned(),
        description: "micrometer".to_owned(),
        resolution: length(facts.resolution, facts.unit),
        expanded_uncertainty: length(facts.uncertainty, facts.unit),
        setting_method: SettingMethod::GaugeBlock.into(),
        calibration_due_time: from_now(days(200)),
        ..Gauge::default()
    }
}

fn items(sizes: &Sizes) -> Vec<Item> {
    let mut items = Vec::new();
    for ring in &sizes.rings {
        for group in ["", "-C3"] {
            items.push(bearing(&format!("{}{group}", ring.number)));
        }
    }
    for bore in BORES_MM {
        items.push(bushing(bore));
        for class in SEAT_CLASSES {
            items.push(seat_shaft(bore, class));
        }
        items.push(journal_shaft(bore));
    }
    items.extend(sizes.housings().into_iter().map(housing));
    items
}

fn bearing(designation: &str) -> Item {
    Item {
        code: bearing_code(designation),
        kind: ItemKind::RollingBearing.into(),
        description: format!("deep groove ball bearing {designation}"),
        designation: designation.to_owned(),
        material: Material::Steel.into(),
        ..Item::default()
    }
}

/// The code of a bearing's item.
pub(crate) fn bearing_code(designation: &str) -> String {
    format!("BRG-{designation}")
}

fn bushing(bore_mm: i64) -> Item {
    let bore = feature("bore", FeatureKind::Bore, bore_mm, "H7");
    let outside = feature("od", FeatureKind::OutsideDiameter, bushing_outside(bore_mm), "s6");
    let material = if bore_mm % 2 == 0 { Material::PorousBronze } else { Material::Bronze };
    item(format!("BUSH-{bore_mm}"), ItemKind::Bushing, "flanged bushing", material, [bore, outside])
}

fn seat_shaft(bore_mm: i64, class: &str) -> Item {
    let seats =
        ["seat-a", "seat-b"].map(|name| feature(name, FeatureKind::RollingSeat, bore_mm, class));
    item(format!("SHAFT-{bore_mm}-{class}"), ItemKind::Shaft, "pump shaft", Material::Steel, seats)
}

fn journal_shaft(bore_mm: i64) -> Item {
    let journal = [feature("journal", FeatureKind::Journal, bore_mm, "f7")];
    item(format!("JSHAFT-{bore_mm}"), ItemKind::Shaft, "spindle shaft", Material::Steel, journal)
}

fn housing(bore_nm: i64) -> Item {
    let bore_mm = bore_nm / 1_000_000;
    let bore = [feature("bore-a", FeatureKind::HousingBore, bore_mm, "H7")];
    item(format!("BELL-{bore_mm}"), ItemKind::Housing, "end bell", Material::CastIron, bore)
}

fn item<const N: usize>(
    code: String,
    kind: ItemKind,
    description: &str,
    material: Material,
    features: [Feature; N],
) -> Item {
    Item {
        code,
        kind: kind.into(),
        description: description.to_owned(),
        material: material.into(),
        features: features.into(),
        ..Item::default()
    }
}

fn feature(name: &str, kind: FeatureKind, nominal_mm: i64, class: &str) -> Feature {
    Feature {
        name: name.to_owned(),
        kind: kind.into(),
        nominal: mm(&nominal_mm.to_string()),
        tolerance: Some(Tolerance::ToleranceClass(class.to_owned())),
        limit_source: "drawing".to_owned(),
        ..Feature::default()
    }
}
