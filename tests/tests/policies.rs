//! Goal: the shop's policy is data that its owner edits: every version is kept as it was written, one
//! is in force, and a faulty one is refused whole with every fault at once.
//! Method: over gRPC and by the command line, on both databases.

use tenths_proto::v1::*;
use tenths_tests::{
    Bench, Clients, DatabaseKind, Expected, Outcomes, Shop, done, inch, mm, nm, on_both_databases,
    request_id, run_tenths_with_input,
};
use tonic::Code;

on_both_databases!(
    a_policy_is_edited_and_its_versions_are_kept,
    a_faulty_policy_is_refused_with_every_fault,
    a_vendor_is_named_by_its_location,
    a_policy_is_put_in_force_once_and_by_its_latest_reader,
    a_file_goes_out_and_in_again,
);

async fn in_force(c: &Clients) -> (Policy, PolicyVersion) {
    let answer = done("get_policy", c.policies().get_policy(GetPolicyRequest::default()).await);
    (answer.policy.expect("a policy"), answer.version.expect("its version"))
}

fn set(etag: &str, policy: Policy) -> SetPolicyRequest {
    SetPolicyRequest {
        request_id: request_id(),
        person: "oto".to_owned(),
        etag: etag.to_owned(),
        policy: Some(policy),
        note: "plating costs of this year".to_owned(),
    }
}

async fn a_policy_is_edited_and_its_versions_are_kept(kind: DatabaseKind) {
    let shop = Shop::start(kind).await;
    let c = shop.clients();
    let (mut policy, version) = in_force(c).await;
    assert_eq!((policy.version, version.version, version.in_force), (0, 0, true));
    assert_eq!((version.person.as_str(), version.create_time), ("", None));
    let steps = policy.inch_steps.as_ref().expect("steps of inch parts");
    let steps: Vec<i64> = steps.values.iter().map(|step| step.nm).collect();
    assert_eq!(steps, [254_000, 508_000, 762_000], "0.010, 0.020, 0.030 in");

    // Written as people write: a trailing zero says how finely it is meant.
    policy.grinding_allowance =
        Some(NotedLength { value: inch("0.0030"), note: "our own grinder".to_owned() });
    let plating = policy.methods.iter_mut().find(|one| one.method() == BuildMethod::HardChrome);
    let plating = plating.expect("hard chrome is in the built-in policy");
    plating.cost = Some(Money { amount: "85.00".to_owned(), currency: "USD".to_owned() });
    plating.lead_time_days = Some(0);
    let answer = done("set_policy", c.policies().set_policy(set(&version.etag, policy)).await);
    let first = answer.version.expect("its version");
    assert_eq!((first.version, first.person.as_str(), first.in_force), (1, "oto", true));

    let (kept, _) = in_force(c).await;
    let allowance = kept.grinding_allowance.clone().expect("the allowance");
    let value = allowance.value.expect("a length");
    assert_eq!((value.value.as_str(), value.nm), ("0.0030", 76_200));
    assert_eq!(kept.methods[0].lead_time_days, Some(0), "0 days is an answer, not nothing");
    assert_eq!(Some(kept.clone()), answer.policy);

    done("set_policy", c.policies().set_policy(set(&first.etag, kept)).await);
    let of = |version| GetPolicyRequest { version: Some(version) };
    for (version, cost) in [(0, None), (1, Some("85.00")), (2, Some("85.00"))] {
        let answer = done("get_policy", c.policies().get_policy(of(version)).await);
        let told = answer.version.expect("its version");
        assert_eq!((told.version, told.in_force), (version, version == 2));
        let policy = answer.policy.expect("the policy");
        let found = policy.methods[0].cost.as_ref().map(|money| money.amount.as_str());
        assert_eq!((policy.version, found), (version, cost));
    }
    let mut outcomes = Outcomes::default();
    let missing = Expected { code: Code::NotFound, resource: "3", ..Expected::default() };
    outcomes.refused("version 3", missing, c.policies().get_policy(of(3)).await);
    let bad = Expected { code: Code::InvalidArgument, fields: &["version"], ..Expected::default() };
    outcomes.refused("version -1", bad, c.policies().get_policy(of(-1)).await);
    outcomes.finish();

    let page = |page_token: String| ListPoliciesRequest { page_size: 1, page_token };
    let one = done("list_policies", c.policies().list_policies(page(String::new())).await);
    let two = done("list_policies", c.policies().list_policies(page(one.next_page_token)).await);
    let numbers: Vec<(i64, bool)> = [one.versions, two.versions]
        .concat()
        .iter()
        .map(|version| (version.version, version.in_force))
        .collect();
    assert_eq!((numbers, two.next_page_token.as_str()), (vec![(1, false), (2, true)], ""));
    shop.verify();
}

async fn a_faulty_policy_is_refused_with_every_fault(kind: DatabaseKind) {
    let shop = Shop::start(kind).await;
    let c = shop.clients();
    let (policy, version) = in_force(c).await;
    let bad = |fields| Expected { code: Code::InvalidArgument, fields, ..Expected::default() };
    let mut outcomes = Outcomes::default();

    let mut wire = policy.clone();
    wire.currency = "dollars".to_owned();
    wire.methods[0].per_side_min = None;
    wire.methods[1].site = 0;
    wire.yield_prior.as_mut().expect("a prior").passed = "0".to_owned();
    let fields = [
        "policy.currency",
        "policy.methods[0].per_side_min",
        "policy.methods[1].site",
        "policy.yield_prior.passed",
    ];
    let result = c.policies().set_policy(set(&version.etag, wire)).await;
    outcomes.refused("what has no meaning", bad(&fields), result);

    let mut wire = policy.clone();
    let steps = wire.inch_steps.as_mut().expect("steps");
    steps.values = [inch("0.020"), inch("0.010")].into_iter().flatten().collect();
    steps.note.clear();
    wire.features.push(wire.features[0].clone());
    wire.grinding_allowance.as_mut().expect("an allowance").value = mm("25.4");
    wire.methods[0].cost = Some(Money { amount: "85.00".to_owned(), currency: "EUR".to_owned() });
    let fields = [
        "policy.inch_steps",
        "policy.inch_steps.note",
        "policy.features",
        "policy.grinding_allowance",
        "policy.methods",
    ];
    let result = c.policies().set_policy(set(&version.etag, wire)).await;
    outcomes.refused("what the rules forbid", bad(&fields), result);

    let nothing =
        SetPolicyRequest { policy: None, note: String::new(), ..set("", Policy::default()) };
    let result = c.policies().set_policy(nothing).await;
    outcomes.refused("nothing", bad(&["policy", "note", "etag"]), result);
    outcomes.finish();
    let (after, version) = in_force(c).await;
    assert_eq!((after, version.version), (policy, 0), "nothing is half saved");
    shop.verify();
}

/// Yields are counted by the place that a piece was sent to, so a policy says the same.
async fn a_vendor_is_named_by_its_location(kind: DatabaseKind) {
    let shop = Shop::start(kind).await;
    let c = shop.clients();
    let bench = Bench::bare(c);
    bench.location("A-01", LocationKind::Shelf).await;
    let (policy, version) = in_force(c).await;
    let named = |code: &str| {
        let mut policy = policy.clone();
        policy.methods[1].vendor = code.to_owned();
        set(&version.etag, policy)
    };
    let bad = Expected {
        code: Code::InvalidArgument,
        fields: &["policy.methods[1].vendor"],
        ..Expected::default()
    };
    let mut outcomes = Outcomes::default();
    outcomes.refused("nowhere", bad, c.policies().set_policy(named("PLATER")).await);
    outcomes.refused("a shelf", bad, c.policies().set_policy(named("A-01")).await);
    outcomes.finish();
    bench.location("PLATER", LocationKind::Vendor).await;
    let mut in_house = named("PLATER");
    if let Some(policy) = &mut in_house.policy {
        policy.methods[1].site = Site::InHouse.into();
    }
    let mut outcomes = Outcomes::default();
    outcomes.refused("in house", bad, c.policies().set_policy(in_house).await);
    outcomes.finish();
    done("set_policy", c.policies().set_policy(named("PLATER")).await);
    shop.verify();
}

async fn a_policy_is_put_in_force_once_and_by_its_latest_reader(kind: DatabaseKind) {
    let shop = Shop::start(kind).await;
    let c = shop.clients();
    let (policy, version) = in_force(c).await;
    let request = set(&version.etag, policy.clone());
    let once = done("set_policy", c.policies().set_policy(request.clone()).await);
    let again = done("the same request", c.policies().set_policy(request).await);
    assert_eq!(once, again);

    let mut outcomes = Outcomes::default();
    let stale = Expected { code: Code::Aborted, ..Expected::default() };
    let result = c.policies().set_policy(set(&version.etag, policy.clone())).await;
    outcomes.refused("edited from version 0 while 1 is in force", stale, result);
    outcomes.finish();

    // Several at once from one version: one wins, the others are told to read again.
    let current = in_force(c).await.1;
    let calls = (0..6).map(|_| {
        let (mut policies, request) = (c.policies(), set(&current.etag, policy.clone()));
        tokio::spawn(async move { policies.set_policy(request).await })
    });
    let mut won = 0;
    for call in calls.collect::<Vec<_>>() {
        match call.await.expect("no call panics") {
            Ok(_) => won += 1,
            Err(status) => {
                assert!(matches!(status.code(), Code::Aborted | Code::Unavailable), "{status:?}")
            }
        }
    }
    assert_eq!((won, in_force(c).await.1.version), (1, 2));
    shop.verify();
}

/// The command line writes the policy as a file and reads it back; an edited file is the next
/// version, and one edited from an older version is refused.
async fn a_file_goes_out_and_in_again(kind: DatabaseKind) {
    let shop = Shop::start(kind).await;
    let file = shop.tenths(&["policy", "show"]).succeeded("policy show").stdout;
    assert!(file.contains("version = 0\n"), "{file}");
    let address = shop.server().address();
    let set = |file: &str| {
        let line = ["--person", "oto", "policy", "set", "--from", "-", "--note", "grinder trued"];
        run_tenths_with_input(address, &line, file)
    };
    let old = "grinding_allowance = { value = \"0.0020 in\"";
    assert!(file.contains(old), "{file}");
    let edited = file.replace(old, "grinding_allowance = { value = \"0.0025 in\"");
    set(&edited).succeeded("policy set");
    let (policy, _) = in_force(shop.clients()).await;
    let allowance = policy.grinding_allowance.expect("the allowance").value;
    assert_eq!(nm(&allowance), 63_500);

    let stale = set(&edited);
    assert_eq!(stale.code, 7, "{stale:?}");
    let shown = shop.tenths(&["policy", "show"]).succeeded("policy show").stdout;
    let body = |text: &str| {
        let is_told = |line: &&str| !line.starts_with('#') && !line.starts_with("version");
        text.lines().filter(is_told).map(str::to_owned).collect::<Vec<_>>()
    };
    assert_eq!(body(&shown), body(&edited));
    assert!(shown.contains("version = 1\n"), "{shown}");
    let misspelt = set(&shown.replace("per_side_max", "per_side_most"));
    assert_ne!(misspelt.code, 0);
    assert!(misspelt.stderr.contains("methods[0].per_side_most is not known"), "{misspelt:?}");
    let history = shop.tenths(&["--output", "csv", "policy", "history"]).succeeded("history");
    assert!(history.stdout.contains("grinder trued"), "{}", history.stdout);
    shop.verify();
}
