//! Sweeps: each point is the procedure with its figures written by hand, the best is the best, what comes out does not
//! depend on threads, and what cannot be varied is refused with what can.
#![allow(clippy::unwrap_used, clippy::panic, clippy::indexing_slicing, clippy::disallowed_methods)]

mod common;

use std::fs;
use std::path::Path;
use std::process::{Command, Output};

use common::GOOD;
use scruple::compare::{Prospect, prospect};
use scruple::emit::sweep::{Told, json, text, told};
use scruple::emit::sweep_plot::plot;
use scruple::load::Memory;
use scruple::pipeline::{Compilation, Request};
use scruple::sweep::best::{End, Figure, best};
use scruple::sweep::{Aim, Swept, points, prepare};

/// The mixture of an equilibrium, kept as it is.
const REST: &str = r#"procedure rest "An ester at rest" {
    basis alcohol

    take alcohol  = isoamyl_alcohol, 24 mL
    take acid     = acetic_acid, glacial, 1.2 eq
    take catalyst = tosic_acid, 0.01 eq

    reaction esterification {
        isoamyl_alcohol + acetic_acid <=> isoamyl_acetate + water
        equilibrium 4.2
        catalyst tosic_acid
    }

    step "Esterify" {
        combine alcohol, acid, catalyst -> pot
        heat pot at 90 degC for 2 h, running esterification
        cool pot to 25 degC
    }

    keep pot as isoamyl_acetate in bottle
}
"#;

fn asked(parameters: &[&str]) -> Vec<String> {
    parameters.iter().map(|parameter| (*parameter).to_owned()).collect()
}

fn request() -> Request {
    Request { path: "a.scruple".to_owned(), ..Request::default() }
}

fn swept_on(file: &str, parameters: &[&str], number: &str, threads: usize) -> Swept {
    let loader = Memory::new([("a.scruple", file)]);
    let each = points(Some(number), parameters.len()).unwrap();
    let sweep = prepare(&request(), &asked(parameters), &each, &loader).unwrap_or_else(|refused| panic!("{:?}", refused.findings));
    sweep.run(threads, &|_| {})
}

fn swept(file: &str, parameters: &[&str], number: &str) -> Swept {
    swept_on(file, parameters, number, 2)
}

fn refused(file: &str, parameters: &[&str]) -> Compilation {
    let each = points(None, parameters.len()).unwrap();
    match prepare(&request(), &asked(parameters), &each, &Memory::new([("a.scruple", file)])) {
        Ok(_) => panic!("{parameters:?} is not refused"),
        Err(refused) => refused,
    }
}

/// What a file comes to, whatever it is called.
fn by_hand(file: &str) -> Prospect {
    let compilation = common::compile(file, None, None);
    prospect("x", compilation.outcome.as_ref().unwrap_or_else(|| panic!("{:?}", compilation.findings)))
}

/// What each point comes to, whatever it is called.
fn prospects(swept: &Swept) -> Vec<Prospect> {
    let unnamed = |point: &scruple::sweep::Point| {
        let one = point.outcome.as_ref().unwrap_or_else(|fault| panic!("{fault:?}"));
        Prospect { name: "x".to_owned(), ..one.clone() }
    };
    swept.points.iter().map(unnamed).collect()
}

/// The file with another text in the place of one that stands there once.
fn with(file: &str, old: &str, new: &str) -> String {
    assert_eq!(file.matches(old).count(), 1, "{old}");
    file.replace(old, new)
}

#[test]
fn a_point_is_the_procedure_with_its_figures_written_by_hand() {
    type Case = (&'static str, &'static str, fn(&str) -> String, [&'static str; 3]);
    let cases: [Case; 8] = [
        ("acid=1.5..2.5eq", "acetic_acid, glacial, 2.0 eq", |at| format!("acetic_acid, glacial, {at} eq"), ["1.5", "2", "2.5"]),
        ("alcohol=10..25mL", "isoamyl_alcohol, 24 mL", |at| format!("isoamyl_alcohol, {at} mL"), ["10", "17.5", "25"]),
        ("catalyst=1..3 mol%", "98 % w/w, 1 mL", |at| format!("98 % w/w, {at} mol%"), ["1", "2", "3"]),
        ("acid=fixed 20..30 g", "glacial, 2.0 eq", |at| format!("glacial, fixed {at} g"), ["20", "25", "30"]),
        ("drier=enough + 0..50%", "magnesium_sulfate, enough", |at| format!("magnesium_sulfate, enough + {at} %"), ["0", "25", "50"]),
        ("brine=0.2..0.4 * volume of crude", "0.3 * volume", |at| format!("{at} * volume"), ["0.2", "0.3", "0.4"]),
        ("\"Esterify\".time=60..120min", "reflux pot for 90 min", |at| format!("reflux pot for {at} min"), ["60", "90", "120"]),
        ("wash.sodium_bicarbonate = 40..80 mL", "5 % w/w, 60 mL", |at| format!("5 % w/w, {at} mL"), ["40", "60", "80"]),
    ];
    for (parameter, old, new, values) in cases {
        let found = prospects(&swept(GOOD, &[parameter], "3"));
        for (value, found) in values.iter().zip(&found) {
            assert_eq!(*found, by_hand(&with(GOOD, old, &new(value))), "{parameter} at {value}");
        }
    }
}

#[test]
fn a_grid_has_the_first_parameter_in_rows_and_both_are_in_each_point() {
    let swept = swept(GOOD, &["acid=1..3eq", "wash.water=60..100 mL"], "3x2");
    let values: Vec<Vec<f64>> = swept.points.iter().map(|point| point.values.clone()).collect();
    assert_eq!(values, [[1.0, 60.0], [1.0, 100.0], [2.0, 60.0], [2.0, 100.0], [3.0, 60.0], [3.0, 100.0]].map(Vec::from));
    let file = with(&with(GOOD, "2.0 eq", "3 eq"), "water, 80 mL", "water, 60 mL");
    assert_eq!(prospects(&swept)[4], by_hand(&file));
    assert_eq!(swept.parameters[0].written, Some(2.0));
    assert_eq!(swept.parameters[1].written, Some(80.0));
}

#[test]
fn a_size_holds_at_every_point_and_what_is_fixed_stays_so() {
    let file = with(REST, "glacial, 1.2 eq", "glacial, fixed 8 g");
    let loader = Memory::new([("a.scruple", file.as_str())]);
    let request = Request { size: Some("alcohol=12mL".to_owned()), ..request() };
    let sweep = prepare(&request, &asked(&["acid=6..10g"]), &[3], &loader).unwrap();
    let found = prospects(&sweep.run(1, &|_| {}));
    for (value, found) in ["6", "8", "10"].iter().zip(&found) {
        let compilation = common::compile(with(&file, "fixed 8 g", &format!("fixed {value} g")), Some("alcohol=12mL"), None);
        assert_eq!(*found, prospect("x", &compilation.outcome.unwrap()), "{value}");
    }
    assert!(found[2].yield_percent > found[0].yield_percent);
}

#[test]
fn more_of_one_reactant_yields_more_and_as_much_as_the_equilibrium_has() {
    let swept = swept(REST, &["acid=1..1.5eq"], "9");
    let yields: Vec<f64> = prospects(&swept).iter().map(|one| one.yield_percent.unwrap()).collect();
    assert!(yields.windows(2).all(|pair| pair[0] < pair[1]), "{yields:?}");
    // x² = K (1 - x)(e - x), solved by hand for a mole of alcohol and e moles of acid.
    let by_hand = |excess: f64| {
        let (k, sum) = (4.2, 4.2 * (1.0 + excess));
        100.0 * (sum - (sum * sum - 4.0 * (k - 1.0) * k * excess).sqrt()) / (2.0 * (k - 1.0))
    };
    assert!((by_hand(1.0) - 100.0 * 4.2_f64.sqrt() / (1.0 + 4.2_f64.sqrt())).abs() < 1e-9);
    for (at, excess) in [(0, 1.0), (5, 1.3125), (8, 1.5)] {
        assert!((yields[at] - by_hand(excess)).abs() < 1e-6, "{} at {excess} eq, {} by hand", yields[at], by_hand(excess));
    }
    let best = best(&swept, Aim::Yield);
    assert_eq!((best.point, best.end.as_slice()), (Some(8), [Some(End::Upper)].as_slice()));
}

#[test]
fn the_best_is_the_best() {
    let swept = swept(GOOD, &["acid=1..2.6eq"], "9");
    let all = prospects(&swept);
    for (aim, figure, more) in [(Aim::Yield, Figure::Yield, true), (Aim::Waste, Figure::Waste, false), (Aim::Time, Figure::Time, false)] {
        let found = best(&swept, aim);
        let figures: Vec<f64> = all.iter().map(|one| figure.of(one).unwrap()).collect();
        let at = found.point.unwrap();
        assert!(figures.iter().all(|other| if more { *other <= figures[at] } else { *other >= figures[at] }), "{figures:?} {at}");
        let within = |other: &f64| (other - figures[at]).abs() <= 0.01 * figures[at];
        let flat: Vec<usize> = (0..figures.len()).filter(|at| within(&figures[*at])).collect();
        assert_eq!(found.flat, flat);
        let wanted = if at == 0 { Some(End::Lower) } else { (at == 8).then_some(End::Upper) };
        assert_eq!(found.end, [wanted]);
        let said = text(&swept, &found);
        assert!(said.contains(if more { "The greatest" } else { "The least" }), "{said}");
        assert_eq!(said.contains("so widen the range"), wanted.is_some(), "{said}");
    }
}

#[test]
fn the_cheapest_is_found_at_the_prices_of_a_bench() {
    // Prices are invented.
    let bench = "bench \"A shelf\" {
    stock isoamyl_alcohol, 1 L, price 30 EUR
    stock acetic_acid, glacial, 1 L, price 90 EUR
}
";
    let loader = Memory::new([("a.scruple", REST), ("shelf.scruple", bench)]);
    let request = Request { bench: Some("shelf.scruple".to_owned()), ..request() };
    let sweep = prepare(&request, &asked(&["acid=0.7..1.4eq"]), &[8], &loader).unwrap();
    assert!(sweep.has_prices());
    let swept = sweep.run(2, &|_| {});
    let found = best(&swept, Aim::Cost);
    let per_kg: Vec<f64> = prospects(&swept).iter().map(|one| one.cost.as_ref().unwrap().spent[0].per_kg.unwrap()).collect();
    assert!(per_kg.iter().all(|other| *other >= per_kg[found.point.unwrap()]), "{per_kg:?}");
    assert_eq!((found.figure, found.unit.as_str(), found.beside), (Figure::Cost, "EUR", Figure::Yield));
    let said = text(&swept, &found);
    assert!(said.contains("cost per kg, EUR") && said.contains("The least cost per kg of product"), "{said}");
    assert!(said.contains("Cost is of the priced materials alone"), "{said}");
    assert_eq!(best(&swept, Aim::Yield).beside, Figure::Cost);
    // Without prices no cost is made up.
    let bare = prepare(&Request { bench: None, ..request }, &asked(&["acid=1..1.4eq"]), &[2], &loader).unwrap();
    assert!(!bare.has_prices() && best(&bare.run(1, &|_| {}), Aim::Cost).point.is_none());
}

#[test]
fn any_number_of_threads_gives_the_same_bytes() {
    let shown = |threads: usize| {
        let swept = swept_on(REST, &["acid=1..3eq", "alcohol=10..30mL"], "4x3", threads);
        let best = best(&swept, Aim::Waste);
        (text(&swept, &best), json(&swept, &best), plot(&swept, &best))
    };
    assert_eq!(shown(1), shown(4));
}

#[test]
fn every_compilation_is_told() {
    let loader = Memory::new([("a.scruple", REST)]);
    let sweep = prepare(&request(), &asked(&["acid=1..3eq"]), &[5], &loader).unwrap();
    let heard = std::sync::Mutex::new(Vec::new());
    let _ = sweep.run(3, &|done| heard.lock().unwrap().push(done));
    let mut heard = heard.into_inner().unwrap();
    heard.sort_unstable();
    assert_eq!((sweep.jobs(), heard), (6, vec![1, 2, 3, 4, 5, 6]));
}

#[test]
fn what_the_prediction_does_not_depend_on_is_said_with_the_model() {
    let idle = swept(REST, &["temperature=60..90degC", "acid=1..1.4eq"], "2x2");
    let found = best(&idle, Aim::Yield);
    assert_eq!(found.idle, [true, false]);
    let said = text(&idle, &found);
    assert!(said.replace('\n', " ").contains("The predicted yield does not depend on temperature at all"), "{said}");
    assert!(said.contains("`equilibrium`"), "{said}");
    // Where nothing changes no point is the best, and none is said to be.
    let level = swept(REST, &["heat.time=1..4h"], "3");
    let found = best(&level, Aim::Yield);
    assert_eq!((found.point, found.idle.as_slice()), (None, [true].as_slice()));
    assert!(!text(&level, &found).contains("best"), "{}", text(&level, &found));
    assert!(prospects(&level).windows(2).all(|pair| pair[0].time.all_h < pair[1].time.all_h));
}

#[test]
fn a_point_that_fails_says_why_and_stops_nothing() {
    let file =
        with(GOOD, "reflux pot for 90 min, running esterification", "reflux pot for 90 min, running esterification, in round_flask 50 mL");
    let swept = swept(&file, &["alcohol=5..50mL"], "4");
    let failed: Vec<bool> = swept.points.iter().map(|point| point.outcome.is_err()).collect();
    assert_eq!((failed[0], failed[3]), (false, true), "{:?}", swept.points);
    assert!(swept.failed.is_none());
    let best = best(&swept, Aim::Waste);
    let fault = swept.points[3].outcome.clone().unwrap_err();
    let said = text(&swept, &best);
    let row = said.lines().find(|line| line.contains(fault.code.text())).unwrap();
    assert!(row.contains("–") && said.contains("Nothing is predicted at"), "{said}");
    checked_svg(&plot(&swept, &best));
    assert!(swept.points.iter().all(|point| point.outcome.is_ok() || point.outcome.as_ref().unwrap_err().code.text().contains("::")));
}

#[test]
fn findings_of_a_point_point_into_what_it_is() {
    let file =
        with(GOOD, "reflux pot for 90 min, running esterification", "reflux pot for 90 min, running esterification, in round_flask 50 mL");
    let swept = swept(&file, &["alcohol=100..200mL"], "2");
    let failed = swept.failed.unwrap();
    assert!(failed.has_errors());
    let name = "point 1 of the sweep";
    let source = failed.sources.iter().find(|(_, source)| source.name == name).unwrap().1;
    assert_eq!(source.text, "alcohol = 100 mL\n");
}

/// The tags of a drawing nest, its attributes are quoted, and nothing in it acts or leads elsewhere.
fn checked_svg(svg: &str) {
    let mut open: Vec<String> = Vec::new();
    let mut rest = svg;
    let mut roots = 0;
    while let Some(begin) = rest.find('<') {
        assert!(!rest[..begin].contains('>'), "a bracket in {:?}", &rest[..begin]);
        for (at, _) in rest[..begin].match_indices('&') {
            let entity = &rest[at..begin];
            assert!(["&amp;", "&lt;", "&gt;", "&quot;", "&#39;"].iter().any(|known| entity.starts_with(known)), "{entity}");
        }
        let end = begin + rest[begin..].find('>').unwrap();
        let tag = &rest[begin + 1..end];
        rest = &rest[end + 1..];
        if let Some(name) = tag.strip_prefix('/') {
            assert_eq!(open.pop().as_deref(), Some(name));
            continue;
        }
        let name = tag.split([' ', '/']).next().unwrap();
        assert!(["svg", "title", "rect", "text", "path", "circle"].contains(&name), "{tag}");
        assert!(tag.matches('"').count().is_multiple_of(2) && tag.matches("=\"").count() * 2 == tag.matches('"').count(), "{tag}");
        if open.is_empty() {
            roots += 1;
            assert_eq!(name, "svg");
        }
        if !tag.ends_with('/') {
            open.push(name.to_owned());
        }
    }
    assert!(open.is_empty() && roots == 1 && rest.trim().is_empty(), "{open:?} {rest}");
    assert!(svg.starts_with("<svg xmlns=") && svg.ends_with("</svg>\n"));
    assert!(!svg.contains("NaN") && !svg.contains("inf") && !svg.contains("href") && !svg.contains("script"), "{svg}");
}

#[test]
fn drawings_are_well_formed_and_say_what_they_show() {
    let hostile = with(GOOD, "Isoamyl acetate by Fischer esterification", "A & B < C > D's <script>");
    let one = swept(&hostile, &["acid=1..4eq"], "5");
    let drawn = plot(&one, &best(&one, Aim::Yield));
    checked_svg(&drawn.replace("&lt;script&gt;", ""));
    for name in ["yield, %", "purity, %", "waste per kg of product, kg", "acid, eq", "best", "as written"] {
        assert!(drawn.contains(name), "{name}: {drawn}");
    }
    let two = swept(REST, &["acid=1..4eq", "alcohol=10..30mL"], "4x3");
    let drawn = plot(&two, &best(&two, Aim::Time));
    checked_svg(&drawn);
    for name in ["10 mL", "20 mL", "30 mL", "time that is stated per g of product, h", "stroke-dasharray"] {
        assert!(drawn.contains(name), "{name}: {drawn}");
    }
    // More curves than part from one another are not drawn.
    let many = swept(REST, &["acid=1..2eq", "alcohol=10..30mL"], "2x20");
    assert_eq!(plot(&many, &best(&many, Aim::Yield)).matches("stroke-width=\"2\"").count(), scruple::emit::plot::MOST_LINES);
}

#[test]
fn the_document_in_json_fits_its_schema_and_has_the_figures_of_the_table() {
    let swept = swept(GOOD, &["acid=1..3eq"], "5");
    let found = best(&swept, Aim::Yield);
    let value: serde_json::Value = serde_json::from_str(&json(&swept, &found)).unwrap();
    let schema = serde_json::to_value(schemars::schema_for!(Told)).unwrap();
    let checker = jsonschema::validator_for(&schema).unwrap();
    let faults: Vec<String> = checker.iter_errors(&value).map(|fault| fault.to_string()).collect();
    assert!(faults.is_empty(), "{faults:?}");
    assert!(!checker.is_valid(&serde_json::json!({ "format": "scruple sweep" })));
    let shown = text(&swept, &found);
    let rows: Vec<Vec<&str>> = shown.lines().skip(5).take(5).map(|line| line.split_whitespace().collect()).collect();
    for (row, point) in rows.iter().zip(value["points"].as_array().unwrap()) {
        assert_eq!(row[0].parse::<f64>().unwrap(), point["values"][0].as_f64().unwrap());
        let names = ["/yield_percent", "/purity_percent", "/product_g", "/water_g", "/agent_g", "/e_factor", "/time/all_h"];
        for (cell, name) in row[1..].iter().zip(names) {
            let figure = point["prospect"].pointer(name).unwrap().as_f64().unwrap();
            assert_eq!(*cell, scruple::kinds::significant(figure, 3), "{name}");
        }
    }
    assert_eq!(value["best"], found.point.unwrap());
    assert_eq!(told(&swept, &found).says.len(), value["says"].as_array().unwrap().len());
}

#[test]
fn what_cannot_be_varied_is_refused_with_what_to_write() {
    let cases: [(&[&str], &str, &str); 17] = [
        (&["acit=1..3eq"], "resolve::unknown_name", "did you mean `acid`?"),
        (&["nothing=1..3eq"], "resolve::unknown_name", "the procedure takes `alcohol`"),
        (&["pressure=1..3bar"], "resolve::unknown_name", "`\"Esterify\".reflux.time`"),
        (&["liquid=10..30mL"], "resolve::unknown_name", "`\"Wash out the acid\".wash#2.sodium_bicarbonate`"),
        (&["acid=60..100degC"], "kinds::mismatch", "mass"),
        (&["reflux.time=1..3g"], "kinds::mismatch", "duration"),
        (&["acid=1..1eq"], "kinds::out_of_range", "greater"),
        (&["acid=3..1eq"], "kinds::out_of_range", "other way round"),
        (&["acid=NaN..3eq"], "syntax::expected", "NAME=LOW..HIGH"),
        (&["acid=1..1e999eq"], "kinds::out_of_range", ""),
        (&["acid=1..3"], "kinds::missing_unit", "eq"),
        (&["acid=1-3eq"], "syntax::slip", "1..3"),
        (&["acid=2eq"], "syntax::expected", "NAME=LOW..HIGH"),
        (&["acid"], "syntax::expected", "NAME=LOW..HIGH"),
        (&["=1..3eq"], "syntax::expected", "NAME=LOW..HIGH"),
        (&["acid=-1..3g"], "kinds::out_of_range", ""),
        (&["acid=1..2eq", "acid=2..3eq"], "resolve::duplicate", "two"),
    ];
    for (parameters, code, remedy) in cases {
        let refused = refused(GOOD, parameters);
        let finding = refused.findings.iter().find(|finding| finding.is_error()).unwrap();
        assert_eq!(finding.code.text(), code, "{parameters:?}: {finding:?}");
        assert!(finding.help.as_deref().unwrap_or("").contains(remedy), "{parameters:?}: {finding:?}");
        let source = refused.sources.get(finding.span.file).unwrap();
        assert_eq!(source.text, *parameters.last().unwrap(), "{finding:?}");
    }
    // Of several times that of the reaction is meant; `#` says which of several.
    let time = swept(GOOD, &["time=60..90min"], "2");
    assert_eq!(time.parameters[0].written, Some(90.0));
    assert_eq!(swept(GOOD, &["1.reflux.time=60..90min"], "2").parameters[0].place, time.parameters[0].place);
    assert_eq!(swept(GOOD, &["wash#2.liquid=50..70mL"], "2").parameters[0].written, Some(60.0));
    // A number of times is whole.
    assert_eq!(swept(GOOD, &["wash.portions=1..4"], "9").parameters[0].values, [1.0, 2.0, 3.0, 4.0]);
}

#[test]
fn points_are_counted_and_bounded() {
    assert_eq!(points(None, 1), Ok(vec![9]));
    assert_eq!(points(None, 2), Ok(vec![9, 5]));
    assert_eq!(points(Some("4"), 2), Ok(vec![4, 4]));
    assert_eq!(points(Some("100x100"), 2), Ok(vec![100, 100]));
    for (text, parameters, why) in [
        ("1", 1, "at least 2"),
        ("0", 1, "at least 2"),
        ("-3", 1, "whole number"),
        ("NaN", 1, "whole number"),
        ("3x4", 1, "whole number"),
        ("3x1", 2, "at least 2"),
        ("3x4x5", 2, "`9x5`"),
        ("10001", 1, "10000"),
        ("101x100", 2, "10000"),
        ("9999999999x9999999999", 2, "10000"),
    ] {
        let refused = points(Some(text), parameters).unwrap_err();
        assert!(refused.contains(why), "{text}: {refused}");
    }
}

fn run(folder: &Path, arguments: &[&str]) -> Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_scruple"));
    command.current_dir(folder).arg("sweep").args(arguments).output().unwrap()
}

#[test]
fn the_program_writes_whole_files_and_ends_with_the_right_code() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("rest.scruple"), REST).unwrap();
    fs::write(folder.path().join("bad.scruple"), REST.replace("isoamyl_alcohol, 24 mL", "mystery, 24 mL")).unwrap();
    let code = |output: &Output| output.status.code().unwrap();
    let said = |output: &Output| String::from_utf8(output.stderr.clone()).unwrap();
    let made = run(folder.path(), &["rest.scruple", "acid=1..1.4eq", "--points", "3", "-o", "plot.svg", "--threads", "2"]);
    assert_eq!(code(&made), 0, "{}", said(&made));
    let table = String::from_utf8(made.stdout.clone()).unwrap();
    assert!(table.contains("acid, eq") && table.contains("best") && table.contains("as written, 1.2"), "{table}");
    // No bar where nobody sees it.
    assert!(!said(&made).contains('\r'));
    checked_svg(&fs::read_to_string(folder.path().join("plot.svg")).unwrap());
    let again = run(folder.path(), &["rest.scruple", "acid=1..1.4eq", "--points", "3", "--threads", "1", "-o", "-"]);
    assert_eq!(again.stdout, fs::read(folder.path().join("plot.svg")).unwrap());
    let over = run(folder.path(), &["rest.scruple", "acid=1..1.4eq", "--points", "2", "-o", "rest.scruple"]);
    assert_eq!((code(&over), fs::read_to_string(folder.path().join("rest.scruple")).unwrap()), (1, REST.to_owned()));
    let cases: [(&[&str], i32, &str); 10] = [
        (&["rest.scruple", "acid=1..2eq", "alcohol=1..2mL", "catalyst=1..2mol%"], 2, "one or two"),
        (&["rest.scruple", "acid=1..2eq", "--best", "fame"], 2, "invalid value"),
        (&["rest.scruple", "acid=1..2eq", "--points", "1"], 2, "at least 2"),
        (&["rest.scruple", "acid=1..2eq", "--threads", "0"], 2, "invalid value"),
        (&["rest.scruple", "acid=1..2eq", "--best", "cost"], 1, "`--bench FILE`"),
        (&["rest.scruple"], 2, "required"),
        (&["none.scruple", "acid=1..2eq"], 1, "no such file"),
        (&["bad.scruple", "acid=1..2eq"], 1, "mystery"),
        (&["rest.scruple", "acit=1..2eq"], 1, "did you mean `acid`?"),
        (&["rest.scruple", "acid=1..2eq", "--procedure", "unrest"], 1, "unrest"),
    ];
    for (arguments, wanted, why) in cases {
        let output = run(folder.path(), arguments);
        assert_eq!(code(&output), wanted, "{arguments:?}: {}", said(&output));
        assert!(said(&output).contains(why) && output.stdout.is_empty(), "{arguments:?}: {}", said(&output));
    }
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 3, "nothing half-written is left");
}
