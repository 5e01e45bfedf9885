//! The quote, where a price list is given, and that nothing speaks of money where none is.

use crate::{
    cli::{bradawl, with_job},
    demo::{home, job, job_text, made, source},
};
use bradawl::{
    job::{Job, prices},
    make::Made,
};
use serde_json::Value;
use std::fs;

const LIST: &str = "\
currency = \"crowns\"
round_to = 5
[materials]
cloth = 40
button = 0.35
twine = 0.07
board = 25
wadding = 5.5
lining = 3
tack_strip = 0.85
staples = 6.4
[work]
hour = 30
program_minutes = 5
button_minutes = 4
panel_minutes = 50
";

fn priced(list: &str) -> (Job, Made) {
    let mut job = job(&job_text(&[("title", "\"Trial panel\"\nquantity = 3")]));
    job.prices = Some(prices::read(&source(list)).unwrap_or_else(|wrong| panic!("{wrong:#?}")));
    let made = made(&job);
    (job, made)
}

fn quote(made: &Made) -> Value {
    let report: Value = serde_json::from_slice(&made.files["report.json"]).expect("JSON");
    report["quote"].clone()
}

fn line(quote: &Value, what: &str) -> f64 {
    let lines = quote["lines"].as_array().expect("lines");
    let line = lines.iter().find(|line| line["what"] == what).unwrap_or_else(|| panic!("{what}"));
    line["sum"].as_f64().expect("a sum")
}

/// By hand. Three panels of 720 x 480, edges 90: W = 540/5 = 108, rows 6, 5, 6, 5 = 22 buttons, gaps of 100.
/// With 60 and 45 allowed the cover is cut 5·168 + 2·(90 + 30 + 145) = 1370 wide and 3·122.5 + 2·(90 + 22.5 + 145)
/// = 882.5 high. On a roll of 1400 that is 3 x 882.5 = 2.6475 m, so 2.65 m at 40: 106.00.
/// Buttons 66 and a twentieth to spare, 4: 70 at 0.35 = 24.50. Twine 66 x 0.6 m at 0.07 = 2.772: 2.77.
/// Board 3 x 0.72 x 0.48 = 1.0368 at 25 = 25.92. Wadding the same at 5.5 = 5.7024: 5.70.
/// Lining 3 x 0.74 x 0.5 = 1.11 at 3 = 3.33. Tack strip 3 x 2.5 m at 0.85 = 6.375, a half goes up: 6.38.
/// Staples 3 x 2 x 96 = 576 at 6.4 a thousand = 3.6864: 3.69.
/// Three programs a panel, 9 x 5 min at 30 an hour = 22.50; 66 x 4 min = 4.4 h = 132.00; 3 x 50 min = 75.00.
/// All together 407.79; to the nearest 5: 410, or 136.67 a panel. Foam and machines have no price.
#[test]
fn a_quote_comes_to_what_it_comes_to_by_hand() {
    let (_, made) = priced(LIST);
    let quote = quote(&made);
    for (what, sum) in [
        ("Cloth", 106.00),
        ("Buttons", 24.50),
        ("Twine", 2.77),
        ("Board", 25.92),
        ("Wadding", 5.70),
        ("Back lining", 3.33),
        ("Tack strip", 6.38),
        ("Staples", 3.69),
        ("Programs started", 22.50),
        ("Buttoning", 132.00),
        ("Bench work besides", 75.00),
    ] {
        assert_eq!(line(&quote, what), sum, "{what}");
    }
    assert_eq!(quote["lines"].as_array().map(Vec::len), Some(11));
    assert_eq!(quote["not_priced"], serde_json::json!(["Foam", "Machines"]));
    assert_eq!(quote["sum"], 407.79);
    assert_eq!(quote["total"], 410.0);
    let sheet = String::from_utf8_lossy(&made.files["sheet.html"]).into_owned();
    for text in [
        "407.79 crowns",
        "Rounded to 5 the sum is 410.00, 2.21 more.",
        "That is about 136.67 a panel.",
        "Not priced, so not in it: foam, machines.",
        "2.65 m at 40.00: 106.00",
    ] {
        assert!(sheet.contains(text), "{text}");
    }
}

/// By hand: 2.65 m / 0.9144 = 2.898 075 yd at 36 = 104.331; 1.0368 m² / 0.836 127 36 = 1.240 002 square yd at
/// 20 = 24.800. With a coin of 0.05 they come to 104.35 and 24.80.
#[test]
fn a_list_by_the_yard_has_its_own_coin() {
    let list =
        "currency = \"marks\"\ncoin = 0.05\nper = \"yard\"\n[materials]\ncloth = 36\nboard = 20\n";
    let quote = quote(&priced(list).1);
    assert_eq!(line(&quote, "Cloth"), 104.35);
    assert_eq!(line(&quote, "Board"), 24.80);
    assert_eq!(quote["sum"], 129.15);
    assert_eq!(quote["total"], quote["sum"], "nothing is rounded that was not asked for");
}

/// Three panels' programs, as long as their rehearsals say, at 60 an hour: a minute costs 1.
#[test]
fn machines_are_paid_by_the_programs_own_times() {
    let (_, made) = priced("currency = \"marks\"\n[work]\nmachine_hour = 60\n");
    let seconds: f64 = made.programs.iter().map(|p| p.verified.rehearsal().time.total()).sum();
    let found = line(&quote(&made), "Machines");
    assert!(seconds > 600.0, "there are programs");
    assert!((found - 3.0 * seconds / 60.0).abs() <= 0.005, "{found} for 3 x {seconds} s");
}

#[test]
fn without_a_price_list_nothing_speaks_of_money() {
    let folder = with_job(&job_text(&[]));
    let out = bradawl(folder.path()).args(["make", "trial.toml"]).assert().code(0);
    let mut all = String::from_utf8_lossy(&out.get_output().stdout).into_owned();
    for file in ["report.json", "sheet.html", "preview.html"] {
        all += &fs::read_to_string(folder.path().join("out/trial").join(file)).expect("text");
    }
    let all = all.to_lowercase();
    for word in ["quote\"", "quote<", "quote ", "price", "crowns"] {
        assert!(!all.contains(word), "{word}");
    }
}

#[test]
fn the_demo_price_list_makes_a_quote_on_one_screen() {
    let folder = with_job(&job_text(&[]));
    let list = home().join("jobs/prices/workshop.toml");
    let list = list.to_str().expect("a path");
    let out =
        bradawl(folder.path()).args(["make", "trial.toml", "--prices", list]).assert().code(0);
    let said = String::from_utf8_lossy(&out.get_output().stdout).into_owned();
    let quote: Vec<&str> =
        said.lines().skip_while(|line| !line.starts_with("Quote     in crowns")).collect();
    assert!(!quote.is_empty(), "{said}");
    assert!(said.lines().count() <= 50, "one screen:\n{said}");
    assert!(said.lines().all(|line| line.chars().count() <= 130), "{said}");
    bradawl(folder.path()).args(["make", "trial.toml", "--prices", "no.toml"]).assert().code(2);
}

#[test]
fn everything_wrong_with_a_price_list_is_said_at_once() {
    let folder = with_job(&job_text(&[]));
    let list = "coin = 0\nround_to = 0.001\nper = \"mile\"\n[materials]\ncloth = -4\nbutons = 3\nfoam = \"dear\"\n[work]\nbutton_minutes = 4\n";
    fs::write(folder.path().join("list.toml"), list).expect("written");
    let out = bradawl(folder.path())
        .args(["make", "trial.toml", "--prices", "list.toml"])
        .assert()
        .code(1);
    insta::assert_snapshot!(
        "a_price_list_with_everything_wrong",
        String::from_utf8_lossy(&out.get_output().stderr)
    );
    assert!(!folder.path().join("out").exists(), "nothing was written");
}

#[test]
fn a_price_list_that_prices_nothing_is_refused() {
    let says = |list: &str| {
        let wrong = prices::read(&source(list)).expect_err("this list is wrong");
        wrong.iter().map(|wrong| format!("{wrong:?}\n")).collect::<String>()
    };
    assert!(says("currency = \"marks\"").contains("this list prices nothing"));
    assert!(
        says("currency = \"marks\"\n[work]\nhour = 40")
            .contains("an hour at the bench is priced, and no minutes are given")
    );
    let minutes = "currency = \"marks\"\n[work]\nbutton_minutes = 4";
    assert!(says(minutes).contains("minutes are given, and not what an hour is worth"));
    let round = "currency = \"marks\"\nround_to = 0.001\n[materials]\ncloth = 4";
    assert!(says(round).contains("`round_to` is less than the smallest coin, "));
}
