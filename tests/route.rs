//! Routes: sizes backwards from the last product and forwards again, trees, recorded yields, runs, what is short for
//! all stages together, the days at the bench, what is refused; the example with its overview.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing, clippy::disallowed_methods)]

mod common;

use std::fs;
use std::path::Path;
use std::process::{Command, Output};

use common::{Crate, root};
use scruple::diagnostics::Code;
use scruple::diagnostics::render::{Look, render};
use scruple::emit::route::{overview, stage_sheet};
use scruple::load::Memory;
use scruple::pipeline::{self, Compilation, Request};
use scruple::resolve::attention::Attention;
use scruple::route::{Asked, Planned, PlannedStage};

const EXAMPLE: &str = "examples/routes/niobe_oil.scruple";

/// Nothing is lost, and the mass stays.
const DRIED: &str = r#"
procedure dried_salt "Salt, dried" {
    basis salt
    take salt = sodium_chloride, 20 g
    dry salt in air for 24 h -> product
    keep product as sodium_chloride in jar
}
"#;

/// Of twenty parts nineteen are salt.
const TABLE: &str = r#"
procedure table_salt "Salt with a little sugar" {
    basis salt
    take salt  = sodium_chloride, 19 g
    take sugar = sucrose, 1 g
    combine salt, sugar -> product
    keep product as sodium_chloride in jar
}
"#;

const SUGAR: &str = r#"
procedure dried_sugar "Sugar, dried" {
    basis sugar
    take sugar = sucrose, 10 g
    dry sugar in air for 2 h -> product
    keep product as sucrose in jar
}
"#;

/// Takes salt twice, one part and three.
const BOTH: &str = r#"
procedure two_salts "Salt of two jars" {
    basis one
    take one = sodium_chloride, 10 g
    take two = sodium_chloride, 30 g
    combine one, two -> product
    keep product as sodium_chloride in jar
}
"#;

const OIL: &str = r#"
procedure dried_oil "Limonene, dried" {
    basis oil
    take oil   = limonene, 40 mL
    take drier = sodium_sulfate, 2 g
    dry oil over drier for 20 min in conical_flask 100 mL -> dried product, spent used_drier
    discard used_drier as "solids, flammable"
    keep product as limonene in bottle
}
"#;

fn routed(text: &str, asked: &Asked) -> Compilation {
    pipeline::route("a.scruple", None, asked, &Memory::new([("a.scruple", text)]))
}

fn told(compilation: &Compilation) -> String {
    render(&compilation.findings, &compilation.sources, Look::Plain)
}

fn planned(text: &str) -> Planned {
    let mut compilation = routed(text, &Asked::default());
    assert!(!compilation.has_errors(), "{}", told(&compilation));
    compilation.routes.remove(0)
}

fn example(bench: Option<&str>, asked: &Asked) -> Compilation {
    let compilation = pipeline::route(EXAMPLE, bench, asked, &Crate);
    assert!(!compilation.has_errors(), "{}", told(&compilation));
    compilation
}

fn stage<'a>(route: &'a Planned, name: &str) -> &'a PlannedStage {
    route.stages.iter().find(|stage| stage.name == name).unwrap_or_else(|| panic!("no stage {name}"))
}

fn close(a: f64, b: f64, within: f64) {
    assert!((a - b).abs() <= within * b.abs(), "{a} is not {b}");
}

/// What a stage gives where a take of it is `mass_g`, by the compiler's own sizing: kg pure and kg in all, of one run.
fn forwards(stage: &PlannedStage, size: Option<String>) -> (f64, f64) {
    let request = Request {
        path: EXAMPLE.to_owned(),
        procedure: Some(stage.procedure.clone()),
        scale: size.is_none().then(|| stage.scale.to_string()),
        size,
        ..Request::default()
    };
    let outcome = pipeline::compile(&request, &Crate).outcome.unwrap();
    let portion = &outcome.evaluation.portions[&outcome.procedure.find(&stage.portion).unwrap()];
    let sub = portion.main().unwrap();
    (portion.of(sub), portion.mass())
}

#[test]
fn backwards_and_forwards_again() {
    for wanted in ["25g", "7.5g", "40g"] {
        let asked = Asked { size: Some(wanted.to_owned()), ..Asked::default() };
        let compilation = example(None, &asked);
        let route = &compilation.routes[0];
        assert_eq!(route.stages.iter().map(|stage| stage.name.as_str()).collect::<Vec<_>>(), ["raw_acid", "pure_acid", "niobe_oil"]);
        // From the first stage on, each take is all that the stage before gives.
        let (raw, _) = forwards(&route.stages[0], None);
        let (pure, _) = forwards(&route.stages[1], Some(format!("crude={} g", raw * 1e3)));
        let (_, oil) = forwards(&route.stages[2], Some(format!("acid={} g", pure * 1e3)));
        let grams: f64 = wanted.trim_end_matches('g').parse().unwrap();
        close(oil * 1e3, grams * 4.0 / 3.0, 1e-9);
        // And each stage gives what the next is said to take of it.
        close(raw * 1e3, route.stages[1].feeds[0].pure_g, 1e-9);
        close(pure * 1e3, route.stages[2].feeds[0].pure_g, 1e-9);
        close(route.stages[0].expected_g, route.stages[0].asked_g, 1e-9);
        let product: f64 = route.stages.iter().map(|stage| stage.expected_yield).product();
        close(route.lines[0].1, product, 1e-12);
    }
}

#[test]
fn a_chain_by_hand() {
    // Salt of 95 % is dried: for 10 g of the pure and a fifth to spare, 12 g of it go on, in 12.63 g of the mixture.
    let route = planned(&format!(
        "{TABLE}{DRIED}\nroute \"r\" {{\n    prepare salt from table_salt\n    prepare dry from dried_salt, using salt\n    wanted dry 10 g, spare 1/5\n}}\n"
    ));
    let (salt, dry) = (stage(&route, "salt"), stage(&route, "dry"));
    close(dry.as_weighed_g, 12.0, 1e-9);
    close(dry.feeds[0].pure_g, 12.0, 1e-9);
    close(dry.feeds[0].as_made_g, 12.0 / 0.95, 1e-9);
    close(salt.expected_g, 12.0, 1e-9);
    close(salt.as_weighed_g, 12.0 / 0.95, 1e-9);
    close(salt.purity, 0.95, 1e-9);
    assert_eq!(salt.impurities.len(), 1);
    close(salt.impurities[0].1, 0.05, 1e-9);
    // What the first stage gives is not taken from the shelf a second time.
    let needed: Vec<(&str, f64)> = route.supplies.iter().map(|supply| (supply.substance.as_str(), supply.needed_g)).collect();
    assert_eq!(needed.len(), 2, "{needed:?}");
    close(route.supplies[0].needed_g, 12.0, 1e-9);
    close(route.supplies[1].needed_g, 12.0 / 19.0, 1e-9);
    close(route.taken_g, 12.0 / 0.95, 1e-9);
}

#[test]
fn a_tree_and_one_product_in_two_takes() {
    let route = planned(&format!(
        "{TABLE}{DRIED}{SUGAR}{BOTH}\nroute \"r\" {{\n    prepare table from table_salt, using more as salt, sweet\n    \
         prepare more from two_salts, using dry as one, dry as two\n    prepare sweet from dried_sugar\n    prepare dry from dried_salt\n    \
         wanted table 100 g\n}}\n"
    ));
    // As written the last stands first; at the bench it comes last.
    let names: Vec<&str> = route.stages.iter().map(|stage| stage.name.as_str()).collect();
    assert_eq!(names.last(), Some(&"table"));
    let place = |name: &str| names.iter().position(|known| *known == name).unwrap();
    assert!(place("dry") < place("more") && place("more") < place("table") && place("sweet") < place("table"));
    close(stage(&route, "more").expected_g, 95.0, 1e-9);
    close(stage(&route, "sweet").expected_g, 5.0, 1e-9);
    // One part and three of the same product.
    let feeds: Vec<f64> = stage(&route, "more").feeds.iter().map(|fed| fed.pure_g).collect();
    close(feeds[0], 95.0 / 4.0, 1e-9);
    close(feeds[1], 95.0 * 3.0 / 4.0, 1e-9);
    close(stage(&route, "dry").expected_g, 95.0, 1e-9);
    assert_eq!(route.lines.len(), 2);
    // The shelf gives salt to the first stage only, and no sugar to the last.
    assert_eq!(route.supplies.len(), 2);
}

#[test]
fn recorded_yields_size_the_stages() {
    let records = "record of dried_salt on 2026-03-07 {\n    salt 20.00 g\n    product 15.00 g\n}\nrecord of dried_salt on 2026-03-14 {\n    salt 20.00 g\n    product 16.00 g\n}\n";
    let text = format!(
        "{DRIED}{records}\nroute \"r\" {{\n    prepare salt from dried_salt, yield recorded\n    prepare dry from dried_salt, using salt\n    wanted dry 31 g\n}}\n"
    );
    let route = planned(&text);
    let salt = stage(&route, "salt");
    let recorded = salt.recorded.as_ref().unwrap();
    assert_eq!(recorded.records, 2);
    close(recorded.mean, 0.775, 1e-6);
    close(recorded.factor, 0.775, 1e-6);
    close(salt.expected_g, 31.0, 1e-9);
    close(salt.theory_g, 31.0 / recorded.mean, 1e-9);
    close(route.supplies[0].needed_g, 40.0, 1e-6);
    // The other stage is as predicted, and says nothing of records.
    assert!(stage(&route, "dry").recorded.is_none());
    // What is lost by the records is waste.
    close(route.waste_g, 9.0, 1e-6);
    // Records stand in a file of their own, too; and where there is none the prediction counts.
    let loader = Memory::new([
        ("b.scruple", format!("use \"a.scruple\"\nuse \"c.scruple\"\n{}", &text[text.find("\nroute").unwrap()..])),
        ("a.scruple", DRIED.to_owned()),
        ("c.scruple", format!("use \"a.scruple\"\n{records}")),
    ]);
    let elsewhere = pipeline::route("b.scruple", None, &Asked::default(), &loader);
    assert!(elsewhere.findings.is_empty(), "{}", told(&elsewhere));
    close(stage(&elsewhere.routes[0], "salt").scale, salt.scale, 1e-12);
    let without = planned(&text.replace(records, ""));
    assert!(stage(&without, "salt").recorded.is_none() && stage(&without, "salt").asks_for_records);
    close(stage(&without, "salt").theory_g, 31.0, 1e-9);
}

#[test]
fn a_stage_that_does_not_fit_is_split() {
    let text = |wanted: &str| {
        format!(
            "{OIL}\nroute \"r\" {{\n    prepare oil from dried_oil\n    prepare dry from dried_oil, using oil\n    wanted dry {wanted}\n}}\n"
        )
    };
    let route = planned(&text("300 mL"));
    let dry = stage(&route, "dry");
    // 75 mL is the most in a flask of 100 mL: four runs would just do, if nothing were lost in the agent.
    assert_eq!(dry.runs, 5);
    assert!(dry.split_because.as_ref().unwrap().contains("75 % is the most"));
    // One run fewer fails, by the compiler itself.
    let four =
        Request { path: "a.scruple".to_owned(), size: Some("product=300mL".to_owned()), runs: Some("4".to_owned()), ..Request::default() };
    let failed = pipeline::compile(&four, &Memory::new([("a.scruple", OIL)]));
    assert!(failed.findings.iter().any(|finding| finding.code == Code::Overfilled), "{}", told(&failed));
    // The stage before gives for all runs together.
    let oil = stage(&route, "oil");
    assert!(oil.runs >= dry.runs);
    close(oil.expected_g, dry.feeds[0].pure_g, 1e-9);
    let per_run = dry.outcome.evaluation.takes[&0].mass.si * 1e3;
    close(dry.feeds[0].pure_g, 5.0 * per_run, 1e-9);
    // What is taken counts every run.
    let drier = route.supplies.iter().find(|supply| supply.substance.contains("sulfate")).unwrap();
    let each: f64 = route.stages.iter().map(|stage| f64::from(stage.runs) * stage.outcome.evaluation.takes[&1].mass.si * 1e3).sum();
    close(drier.needed_g, each, 1e-9);
    let refused = routed(&text("5 L"), &Asked::default());
    let codes: Vec<Code> = refused.findings.iter().map(|finding| finding.code).collect();
    assert_eq!(codes, [Code::RouteDoesNotFit], "{}", told(&refused));
    assert!(refused.findings[0].message.starts_with("`dry` works neither in one run nor in up to 12; in one: "), "{}", told(&refused));
}

const BENCH: &str = "bench \"Little\" {\n    balance 0.01 g to 320 g\n    beaker 250 mL\n    conical_flask 100 mL, 250 mL\n    \
                     stock sodium_chloride, 90 g, price 2 EUR per 100 g\n}\n";

#[test]
fn what_is_short_is_short_for_all_stages_together() {
    let text = format!(
        "{DRIED}{BOTH}{BENCH}\nroute \"r\" {{\n    prepare dry from dried_salt\n    prepare both from two_salts, using dry as one\n    wanted both 100 g\n}}\n"
    );
    let compilation = routed(&text, &Asked::default());
    let route = &compilation.routes[0];
    let [salt] = route.supplies.as_slice() else { panic!("{:?}", route.supplies) };
    // 25 g are dried first and 75 g go in at the end; neither alone is more than there is.
    close(salt.needed_g, 100.0, 1e-9);
    close(salt.short_g, 10.0, 1e-6);
    close(salt.short_costs.as_ref().unwrap().0, 0.2, 1e-6);
    assert_eq!(salt.stages.iter().map(|(name, _)| name.as_str()).collect::<Vec<_>>(), ["dry", "both"]);
    let short: Vec<_> = compilation.findings.iter().filter(|finding| finding.code == Code::StockShort).collect();
    assert_eq!(short.len(), 1, "{}", told(&compilation));
    assert!(short[0].message.contains("for `dry` and `both` together"), "{}", short[0].message);
    let shown = overview(route, &compilation.sources);
    assert!(shown.contains("Short: sodium chloride."), "{shown}");
}

#[test]
fn what_is_supplied_is_not_of_the_stock() {
    // The bench's spirit is of 80 %, but what the first stage makes is counted as it is made.
    let text = "procedure cold \"Cold\" {\n    basis spirit\n    take spirit = ethanol, absolute, 50 mL\n    cool spirit to 5 degC -> product\n    keep product as ethanol in bottle\n}\n\
                procedure warm \"Warm\" {\n    basis spirit\n    take spirit = ethanol, 50 mL\n    cool spirit to 20 degC -> product\n    keep product as ethanol in bottle\n}\n\
                bench \"b\" {\n    conical_flask 100 mL\n    stock ethanol, 80 % w/w, 1 L\n}\n\
                route \"r\" {\n    prepare cold from cold\n    prepare warm from warm, using cold\n    wanted warm 20 g\n}\n";
    let route = planned(text);
    close(stage(&route, "warm").purity, 1.0, 1e-9);
    close(stage(&route, "warm").feeds[0].pure_g, 20.0, 1e-9);
    assert_eq!(route.supplies.len(), 1);
}

/// The codes that a route raises, and the word or the line where the first stands.
fn refused(stages: &str) -> (Vec<Code>, String) {
    refused_with(stages, &Asked::default())
}

fn refused_with(stages: &str, asked: &Asked) -> (Vec<Code>, String) {
    let text = format!("{DRIED}{TABLE}{SUGAR}{BOTH}\nroute \"r\" {{\n{stages}\n}}\n");
    let compilation = routed(&text, asked);
    assert!(compilation.routes.is_empty(), "it is planned all the same: {stages}");
    let at = compilation.findings.first().map_or("", |finding| compilation.sources.slice(finding.span));
    (compilation.findings.iter().map(|finding| finding.code).collect(), at.to_owned())
}

#[test]
fn what_does_not_fit_together_is_refused() {
    let cases: &[(&str, Code, &str)] = &[
        ("prepare a from dried_salt, using b\nprepare b from dried_salt, using a", Code::RouteCircle, "prepare a from dried_salt, using b"),
        ("prepare a from dried_salt, using a", Code::RouteCircle, "prepare a from dried_salt, using a"),
        ("prepare a from dried_salt\nprepare b from dried_salt", Code::RouteUnused, "prepare a from dried_salt"),
        (
            "prepare a from dried_salt\nprepare b from dried_salt, using a\nwanted a 1 g",
            Code::RouteUnused,
            "prepare b from dried_salt, using a",
        ),
        ("prepare a from dried_sugar\nprepare b from dried_salt, using a", Code::RouteOtherSubstance, "a"),
        ("prepare a from dried_sugar\nprepare b from table_salt, using a as salt", Code::RouteOtherSubstance, "salt"),
        ("prepare a from dried_salt\nprepare b from two_salts, using a", Code::Ambiguous, "a"),
        ("prepare a from dried_salt\nprepare b from two_salts, using a as one, a as one", Code::Duplicate, "one"),
        ("prepare a from dried_salt\nprepare b from two_salts, using a as three", Code::UnknownName, "three"),
        ("prepare a from dried_salts", Code::UnknownName, "dried_salts"),
        ("prepare a from dried_salt \"quicker\"", Code::UnknownName, "\"quicker\""),
        ("prepare a from dried_salt, using b", Code::UnknownName, "b"),
        ("prepare a from dried_salt, taking salt", Code::UnknownName, "salt"),
        ("prepare a from dried_salt\nprepare a from dried_salt", Code::Duplicate, "a"),
        ("prepare a from dried_salt\nwanted b 1 g", Code::UnknownName, "b"),
        ("prepare a from dried_salt\nwanted a 1 g\nwanted a 2 g", Code::Duplicate, "wanted a 2 g"),
        ("prepare a from dried_salt\nwanted a 0 g", Code::OutOfRange, "0 g"),
        ("prepare a from dried_salt\nwanted a 1 g, spare 1/0", Code::OutOfRange, "1"),
        ("prepare a from dried_salt\nwanted a 1 g, spare 2 g", Code::Mismatch, "2 g"),
        ("prepare a from dried_salt\nwanted a 5 degC", Code::Mismatch, "5 degC"),
        ("prepare a of dried_salt", Code::SyntaxExpected, "of"),
        ("prepare a from dried_salt, yield predicted", Code::SyntaxExpected, "predicted"),
        ("prepare a from dried_salt, 2 times", Code::SyntaxExpected, "2 times"),
        ("make a from dried_salt", Code::UnknownField, "make"),
        ("", Code::NoRoute, "route \"r\""),
    ];
    for (stages, code, at) in cases {
        let (codes, place) = refused(stages);
        assert_eq!((codes.as_slice(), place.as_str()), (&[*code][..], *at), "{stages}");
    }
}

#[test]
fn what_is_asked_badly_is_refused() {
    let good = "prepare a from dried_salt\nwanted a 10 g";
    let asked = |size: &str, spare: &str, day: &str| {
        let some = |text: &str| (!text.is_empty()).then(|| text.to_owned());
        Asked { title: None, size: some(size), spare: some(spare), day: some(day) }
    };
    let cases = [
        (asked("b=10g", "", ""), Code::UnknownName),
        (asked("10 degC", "", ""), Code::Mismatch),
        (asked("10", "", ""), Code::MissingUnit),
        (asked("-3g", "", ""), Code::OutOfRange),
        (asked("", "much", ""), Code::SyntaxExpected),
        (asked("", "1/3 g", ""), Code::Mismatch),
        (asked("", "99", ""), Code::OutOfRange),
        (asked("", "", "3 g"), Code::OutOfRange),
        (asked("", "", "90 h"), Code::OutOfRange),
        (Asked { title: Some("s".to_owned()), ..Asked::default() }, Code::NoRoute),
    ];
    for (asked, code) in cases {
        assert_eq!(refused_with(good, &asked).0, [code], "{asked:?}");
    }
    for size in ["a=10g", "product=10g", "10 g"] {
        let text = format!("{DRIED}\nroute \"r\" {{\n{good}\n}}\n");
        let mut compilation = routed(&text, &asked(size, "50 %", "9h"));
        let route = compilation.routes.pop().unwrap_or_else(|| panic!("{size}: {}", told(&compilation)));
        close(route.stages[0].as_weighed_g, 15.0, 1e-9);
        close(route.schedule.day_h, 9.0, 1e-12);
    }
    // Without a route there is none to plan, and of several one must be meant.
    assert_eq!(routed(DRIED, &Asked::default()).findings[0].code, Code::NoRoute);
    let two = format!("{DRIED}\nroute \"r\" {{\n{good}\n}}\nroute \"s\" {{\n{good}\n}}\n");
    assert_eq!(routed(&two, &Asked::default()).findings[0].code, Code::NoRoute);
    let second = routed(&two, &Asked { title: Some("s".to_owned()), ..Asked::default() });
    assert_eq!(second.routes.len(), 1, "{}", told(&second));
    let twice = two.replace("\"s\"", "\"r\"");
    assert!(routed(&twice, &Asked::default()).findings.iter().any(|finding| finding.code == Code::Duplicate));
}

#[test]
fn a_route_changes_nothing_for_a_sheet() {
    let text = fs::read_to_string(root().join(EXAMPLE)).unwrap();
    // With the comment above it, which would be taken for that of the first procedure.
    let route = text.find("route \"").unwrap();
    let without = &text[route + text[route..].find("\n}\n").unwrap() + 3..];
    for procedure in ["acid_set_free", "acid_recrystallised", "niobe_oil"] {
        let request = Request { path: "a.scruple".to_owned(), procedure: Some(procedure.to_owned()), ..Request::default() };
        let sheet = |text: &str| pipeline::compile(&request, &Memory::new([("a.scruple", text)])).sheet().unwrap();
        // The hash of the file is all that differs.
        let lines = |sheet: String| sheet.lines().filter(|line| !line.contains("a.scruple")).map(str::to_owned).collect::<Vec<_>>();
        assert_eq!(lines(sheet(&text)), lines(sheet(without)), "{procedure}");
    }
    let none = Request { path: "a.scruple".to_owned(), ..Request::default() };
    let several = pipeline::compile(&none, &Memory::new([("a.scruple", text.as_str())]));
    assert_eq!(several.findings.iter().map(|finding| finding.code).collect::<Vec<_>>(), [Code::NoProcedure]);
}

#[test]
fn the_days_keep_their_rules() {
    let text = format!(
        "{TABLE}{DRIED}{SUGAR}\nroute \"r\" {{\n    prepare dry from dried_salt\n    prepare sweet from dried_sugar\n    prepare table from table_salt, using dry, sweet\n}}\n"
    );
    for route in [planned(&text), example(Some("examples/bench.scruple"), &Asked::default()).routes.remove(0)] {
        let work = &route.schedule;
        assert!(!work.stretches.is_empty());
        for mode in [Attention::Hands, Attention::Sight] {
            let mut spans: Vec<(f64, f64)> = work
                .stretches
                .iter()
                .filter(|one| one.attention == mode)
                .map(|one| (f64::from(one.day - 1) * 24.0 + one.from_h, f64::from(one.day - 1) * 24.0 + one.to_h))
                .collect();
            spans.sort_by(|a, b| a.0.total_cmp(&b.0));
            assert!(spans.windows(2).all(|pair| pair[1].0 >= pair[0].1 - 1e-6), "one pair of hands, one thing watched: {spans:?}");
        }
        for one in &work.stretches {
            assert!(one.from_h <= work.day_h + 1e-6, "begun at night: {one:?}");
            assert!(one.attention == Attention::None || one.to_h <= work.day_h + 1e-6, "attended at night: {one:?}");
        }
        // A stage begins when what it takes is there.
        for stage in &route.stages {
            let begins = work.stretches.iter().find(|one| one.stage == stage.name).unwrap();
            let begins = f64::from(begins.day) * 24.0 + begins.from_h;
            for fed in &stage.feeds {
                let drying = work.stretches.iter().filter(|one| one.stage == fed.from && one.attention == Attention::None);
                let dry = drying.map(|one| f64::from(one.day) * 24.0 + one.to_h).fold(0.0, f64::max);
                assert!(begins >= dry - 1e-6, "{} begins at {begins}, {} is dry at {dry}", stage.name, fed.from);
            }
        }
        assert!(work.all_after_h >= work.product_after_h && work.product_after_h > 24.0);
    }
    // Both dry at once: with one after the other it would be 26 h and more.
    let route = planned(&text);
    let place = |name: &str| route.schedule.stretches.iter().find(|one| one.stage == name && one.attention == Attention::None).unwrap();
    assert!((place("dry").day, place("sweet").day) == (1, 1));
    assert_eq!(route.schedule.unattended.len(), 2);
}

#[test]
fn on_a_bench_stages_are_split_and_glass_is_counted() {
    let compilation = example(Some("examples/bench.scruple"), &Asked::default());
    let route = &compilation.routes[0];
    // 30 g of the last product need more than the largest conical flask, of 250 mL.
    let raw = stage(route, "raw_acid");
    assert!(raw.runs > 1 && raw.split_because.as_ref().unwrap().contains("the largest on this bench"), "{raw:?}");
    close(raw.expected_g, route.stages[1].feeds[0].pure_g, 1e-9);
    for stage in &route.stages {
        for vessel in &stage.outcome.vessels {
            assert!(vessel.fill.is_none_or(|fill| fill <= vessel.limit.unwrap_or(1.0) + 1e-9), "{vessel:?}");
        }
    }
    assert!(route.shared.iter().all(|one| one.there.is_some()));
    // Methanol is not there at all, MTBE neither; what one has is told with it.
    let supply = |name: &str| route.supplies.iter().find(|supply| supply.substance == name).unwrap();
    assert!(supply("methanol").there_g.is_none());
    close(supply("methanol").short_g, supply("methanol").needed_g, 1e-12);
    assert_eq!(supply("sodium sulfate").short_g, 0.0);
    let shown = overview(route, &compilation.sources);
    assert!(shown.contains("is made in") && shown.contains("--runs") && shown.contains("| none |"), "{shown}");
}

#[test]
fn glass_is_shared() {
    let compilation = example(None, &Asked::default());
    let route = &compilation.routes[0];
    let filter = route.shared.iter().find(|one| one.piece == "suction filter").unwrap();
    assert_eq!(filter.stages.iter().map(|(name, _)| name.as_str()).collect::<Vec<_>>(), ["raw_acid", "pure_acid"]);
    assert!(filter.washed_between && filter.there.is_none());
    assert!(route.shared.iter().all(|one| !["jar", "bottle", "balance"].iter().any(|kept| one.piece.contains(kept))));
}

#[test]
fn the_example_has_its_overview() {
    let compilation = example(None, &Asked::default());
    assert!(compilation.findings.is_empty(), "{}", told(&compilation));
    let checked = pipeline::check(EXAMPLE, &Crate);
    assert!(checked.findings.is_empty() && checked.routes.len() == 1, "{}", told(&checked));
    let made = overview(&compilation.routes[0], &compilation.sources);
    let beside = root().join(EXAMPLE).with_extension("md");
    if std::env::var("BLESS").is_ok_and(|value| value == "1") {
        fs::write(&beside, &made).unwrap();
    }
    assert_eq!(fs::read_to_string(&beside).unwrap(), made, "if the new overview is right, run this again with BLESS=1");
    for (number, stage) in compilation.routes[0].stages.iter().enumerate() {
        let sheet = stage_sheet(&compilation.routes[0], number, &compilation.sources).unwrap();
        assert!(sheet.starts_with(&format!("# {}\n\nStage {} of 3 of", stage.title, number + 1)), "{}", &sheet[..200]);
    }
}

fn run(arguments: &[&str], folder: &Path) -> Output {
    Command::new(env!("CARGO_BIN_EXE_scruple")).args(arguments).current_dir(folder).output().unwrap()
}

fn listed(folder: &Path) -> Vec<String> {
    let mut names: Vec<String> = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().file_name().into_string().unwrap()).collect();
    names.sort();
    names
}

#[test]
fn the_program_writes_all_or_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let here = folder.path();
    fs::copy(root().join(EXAMPLE), here.join("niobe.scruple")).unwrap();
    let names = ["1_raw_acid.md", "2_pure_acid.md", "3_niobe_oil.md", "overview.md"];
    // On standard output, as Markdown and as JSON.
    let shown = run(&["route", "niobe.scruple"], here);
    assert!(shown.status.success() && shown.stdout.starts_with(b"# Oil of niobe"));
    let json = run(&["route", "niobe.scruple", "--json", "--size", "10g", "--spare", "0"], here);
    let json: serde_json::Value = serde_json::from_slice(&json.stdout).unwrap();
    close(json["stages"][2]["as_weighed_g"].as_f64().unwrap(), 10.0, 1e-9);
    assert_eq!(json["schedule"]["day_h"].as_f64(), Some(7.0));
    // What fails writes nothing.
    for bad in [&["--size", "10"][..], &["--spare", "x"], &["--route", "another"], &["--bench", "nowhere.scruple"], &["--size", "900kg"]] {
        let failed = run(&[&["route", "niobe.scruple", "-o", "out"], bad].concat(), here);
        assert_eq!(failed.status.code(), Some(1), "{bad:?}");
        assert!(failed.stdout.is_empty() && !failed.stderr.is_empty(), "{bad:?}");
        assert_eq!(listed(here), ["niobe.scruple"], "{bad:?}");
    }
    let written = run(&["route", "niobe.scruple", "-o", "out"], here);
    assert!(written.status.success() && written.stdout.is_empty(), "{}", String::from_utf8_lossy(&written.stderr));
    assert_eq!(listed(here), ["niobe.scruple", "out"]);
    assert_eq!(listed(&here.join("out")), names);
    assert_eq!(fs::read(here.join("out/overview.md")).unwrap(), shown.stdout);
    // Over what is there, and beside what is not its own.
    fs::write(here.join("out/mine.txt"), "mine").unwrap();
    fs::write(here.join("out/overview.md"), "old").unwrap();
    assert!(run(&["route", "niobe.scruple", "-o", "out"], here).status.success());
    assert_eq!(fs::read(here.join("out/overview.md")).unwrap(), shown.stdout);
    assert_eq!(listed(&here.join("out")).len(), 5);
    // A file in the way, and a source that would be written over.
    fs::remove_file(here.join("out/2_pure_acid.md")).unwrap();
    fs::create_dir(here.join("out/2_pure_acid.md")).unwrap();
    fs::write(here.join("out/overview.md"), "old").unwrap();
    assert_eq!(run(&["route", "niobe.scruple", "-o", "out"], here).status.code(), Some(1));
    assert_eq!(fs::read_to_string(here.join("out/overview.md")).unwrap(), "old");
    let source = here.join("source");
    fs::create_dir(&source).unwrap();
    fs::copy(root().join(EXAMPLE), source.join("overview.md")).unwrap();
    let kept = run(&["route", "source/overview.md", "-o", "source"], here);
    assert_eq!(kept.status.code(), Some(1));
    assert_eq!(listed(&source), ["overview.md"]);
    assert_eq!(fs::read(source.join("overview.md")).unwrap(), fs::read(root().join(EXAMPLE)).unwrap());
    assert_eq!(run(&["route", "niobe.scruple", "-o", "niobe.scruple"], here).status.code(), Some(1));
    // The one layout.
    assert!(run(&["tidy", "--check", "niobe.scruple"], here).status.success());
}
