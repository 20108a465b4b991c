//! The same tour on the command line: every command once, as a person would type it.

use tenths_tests::Shop;

/// What is typed, in order; `%`, `$`, `#`, `~` and `^` stand for the tokens of the claims.
const TYPED: &[&str] = &[
    r#"location add A-1 --kind shelf"#,
    r#"location add YARD --kind core_yard"#,
    r#"location add BENCH --kind bench"#,
    r#"location list"#,
    r#"gauge add M-07 --description "0-1 in micrometer" --resolution 0.0001in --uncertainty 0.0001in --setting gauge_block --due 2099-01-01"#,
    r#"gauge update M-07 --description "0-1 in micrometer, blue""#,
    r#"gauge show M-07"#,
    r#"gauge list"#,
    r#"item add SH-25 --kind shaft --description "pump shaft" --material steel"#,
    r#"item feature SH-25 seat-a --kind rolling_seat --nominal 25mm --class k5 --wear-limit 0.0003in"#,
    r#"item update SH-25 --description "pump shaft, 300 mm""#,
    r#"item show SH-25"#,
    r#"item list --kind shaft"#,
    r#"item add BRG-6205 --kind rolling_bearing --description "ball bearing 6205" --designation 6205"#,
    r#"core log --tag C-1 --description "coolant pump" --nameplate hp=2 --owner shop --grade B --reason "one seat worn" --deposit "180.00 USD" --at YARD"#,
    r#"core regrade C-1 --grade C --reason "bell cracked""#,
    r#"core move C-1 --to BENCH"#,
    r#"core teardown C-1 --piece item=SH-25,at=BENCH,tag=P-1,built-up=no --piece item=SH-25,at=BENCH,tag=P-2"#,
    r#"core show C-1"#,
    r#"core list --state torn_down"#,
    r#"read P-1 --feature seat-a --gauge M-07 --in "A0 0.9845 A90 0.9845 B0 0.9844 B90 0.9844""#,
    r#"reading void 4 --reason "read on a burr""#,
    r#"readings P-1"#,
    r#"assess P-1"#,
    r#"assessments P-1"#,
    r#"piece accept P-1 --at A-1"#,
    r#"policy show"#,
    r#"policy history"#,
    r#"recon propose P-1 --feature seat-a --run-out 0.0005in --replaceable"#,
    r#"rebuild open --tag R-9 --description "drive" --value "900.00 USD""#,
    r#"recon enqueue P-2 --feature seat-a --method build_up --reason "seat worn" --rebuild R-9"#,
    r#"recon plan cylindrical_grinder --assume 45"#,
    r#"recon plan cylindrical_grinder --assume 45 --release --day 240"#,
    r#"recon traveler J-1"#,
    r#"recon claim"#,
    r#"recon renew J-1 --token % --lease 2h"#,
    r#"recon release J-1 --token %"#,
    r#"recon claim J-1"#,
    r#"recon finish J-1 --token $ --gauge M-07 --in "A0 0.9845 A90 0.9845" --at A-1"#,
    r#"recon show J-1"#,
    r#"recon yields"#,
    r#"recon list"#,
    r#"piece add --tag P-3 --item SH-25 --condition used --at BENCH"#,
    r#"piece update P-3 --hardness "58 HRC""#,
    r#"piece move P-3 --to A-1"#,
    r#"piece show P-3"#,
    r#"recon enqueue P-3 --feature seat-a --method build_up --reason "seat worn""#,
    r#"recon claim J-2"#,
    r#"recon scrap J-2 --token # --reason crack"#,
    r#"location add PLATER --kind vendor"#,
    r#"piece add --tag P-5 --item SH-25 --condition used --at BENCH"#,
    r#"recon enqueue P-5 --feature seat-a --method build_up --reason "seat worn" --at-vendor"#,
    r#"recon send J-3 --to PLATER --order PO-881"#,
    r#"recon away --at PLATER"#,
    r#"recon return S-1 --line 1 --at BENCH"#,
    r#"recon watch inspection_bench --answers 1"#,
    r#"recon claim J-3"#,
    r#"recon start J-3 --token ~"#,
    r#"recon pause J-3 --token ~"#,
    r#"recon done J-3 --token ~"#,
    r#"recon claim --machine inspection_bench"#,
    r#"recon reject J-3 --token ^ --reason poor_bond"#,
    r#"piece add --tag P-4 --item SH-25 --condition used --at BENCH"#,
    r#"piece scrap P-4 --reason bent"#,
    r#"piece list --item SH-25 --all"#,
    r#"piece add --tag P-15 --item SH-25 --condition used --at BENCH --built-up no"#,
    r#"read P-15 --feature seat-a --gauge M-07 --in "A0 0.9837 A90 0.9837""#,
    r#"recon decide P-15 --feature seat-a --run-out 0in --repair scrap --reason "one too many" --scrap-reason no_demand"#,
    r#"recon decisions --piece P-15"#,
    r#"lot receive --tag L-1 --item BRG-6205 --quantity 12 --at A-1 --date-code 2026-03 --cost "4.10 USD""#,
    r#"lot move L-1 --from A-1 --to BENCH --quantity 2"#,
    r#"lot adjust L-1 --at A-1 --counted 9 --reason recount"#,
    r#"lot show L-1"#,
    r#"lot list"#,
    r#"limits --size 25mm --class k5"#,
    r#"inch-fit --size 1in --class RC4"#,
    r#"bearing 6205"#,
    r#"bearing --bore 25mm --od 52mm"#,
    r#"seat --size 30mm --shaft --rotation inner_rotates --load normal --machine motor"#,
    r#"extension --size 1.125in --standard nema"#,
    r#"key --shaft 25mm"#,
    r#"key --shaft 25mm --keyseat 8.050mm"#,
    r#"retaining-ring --size 25mm --on shaft"#,
    r#"fit --nominal 25mm --bore-ring normal --shaft-piece P-1/seat-a --class k5"#,
    r#"close-in --bore 20.000mm --od 26.040mm --bushing-material bronze --housing 26.000mm --housing-od 52mm --housing-material cast_iron"#,
    r#"running-clearance --journal 0.75in --rule one_thou_and_one_per_inch"#,
    r#"assembly --bore 24.995mm --shaft 25.008mm --shaft-gauge M-07 --outer-diameter 31mm --length 15mm --inner-material steel --outer-material steel --heated open_bearing"#,
    r#"strength --power 2hp --rpm 1725"#,
    r#"find bearing --piece P-1 --feature seat-a --class k5"#,
    r#"find bearing --seat 0.9845in --all"#,
    r#"find size --bore 24.9..25.1mm --width ..20mm"#,
    r#"find replacement 6205-2RS --machine motor"#,
    r#"find status"#,
    r#"rebuild open --tag R-1 --description "coolant pump""#,
    r#"hold R-1 --piece P-1 --lot L-1:2@A-1"#,
    r#"holds H-1"#,
    r#"holds --rebuild R-1"#,
    r#"extend H-1 --for 30d --reason "waiting for a seal""#,
    r#"release H-2 --reason "another bearing""#,
    r#"consume R-1"#,
    r#"ledger --tag P-1"#,
    r#"rebuild update R-1 --value "1200.00 USD""#,
    r#"rebuild close R-1 --as shipped"#,
    r#"rebuild show R-1"#,
    r#"rebuild list"#,
    r#"export lots"#,
];

/// What is asked many at once: the command, and the file that it reads on standard input.
const FILED: &[(&str, &str)] = &[
    ("limits --from -", "size,unit,class\n25,mm,k5\n1,in,H7\n"),
    ("bearing --from -", "designation\n6205\n6305-2RS C3\n"),
    ("key --from -", "shaft,unit\n25,mm\n1,in\n"),
    ("fit --from -", "nominal,unit,bore,shaft,class\n25,mm,25.003,25.008,H7/k6\n"),
];

/// Types everything; panics at the first command that does not end with 0.
pub(crate) fn type_every_command(shop: &Shop) {
    let mut tokens = Vec::new();
    for line in TYPED {
        let words = words(line, &tokens);
        let mut arguments = vec!["--person", "mara", "--output", "json"];
        arguments.extend(words.iter().map(String::as_str));
        let stdout = shop.tenths(&arguments).succeeded(line).stdout;
        if line.starts_with("recon claim") {
            let answer: serde_json::Value = serde_json::from_str(&stdout).expect("JSON");
            tokens.push(token(&answer).unwrap_or_else(|| panic!("no token in {stdout}")));
        }
    }
    let rows = "tag,item,quantity,location,date_code,unit_cost\nL-9,BRG-6205,1,A-1,,\n";
    let import = ["--person", "mara", "import", "lots", "-"];
    let address = shop.server().address();
    tenths_tests::run_tenths_with_input(address, &import, rows).succeeded("import");
    let shown = shop.tenths(&["policy", "show"]).succeeded("policy show").stdout;
    let set = ["--person", "mara", "policy", "set", "--from", "-", "--note", "as it was built in"];
    tenths_tests::run_tenths_with_input(address, &set, &shown).succeeded("policy set");
    for (line, file) in FILED {
        let arguments: Vec<&str> = line.split(' ').collect();
        let finished = tenths_tests::run_tenths_with_input(address, &arguments, file);
        let answered = finished.succeeded(line).stdout;
        assert_eq!(answered.lines().count(), file.lines().count(), "{line}: {answered}");
    }
}

/// The fencing token of an answer: JSON has 64-bit numbers as text.
fn token(answer: &serde_json::Value) -> Option<String> {
    let value = answer.get("fencing_token").or_else(|| answer.get("fencingToken"))?;
    Some(value.as_str().map_or_else(|| value.to_string(), str::to_owned))
}

/// Splits at spaces outside double quotes, and puts the tokens of the claims so far in their places.
fn words(line: &str, tokens: &[String]) -> Vec<String> {
    let mut words = vec![String::new()];
    let mut quoted = false;
    for letter in line.chars() {
        let word = words.last_mut().expect("there is always a word");
        match letter {
            '"' => quoted = !quoted,
            ' ' if !quoted => words.push(String::new()),
            '%' => *word += &tokens[0],
            '$' => *word += &tokens[1],
            '#' => *word += &tokens[2],
            '~' => *word += &tokens[3],
            '^' => *word += &tokens[4],
            _ => word.push(letter),
        }
    }
    words
}
