//! Old panels measured: the grid comes back, as exactly as least squares can tell it.

use crate::{
    demo::{job, job_text, source},
    import::{drawing, entity, stadium},
};
use approx::assert_relative_eq;
use bradawl::{
    diag, job as reader,
    layout::{self, Layout},
};

/// Rows 5, 4, 5, 4, 5 of 130 x 180, from the lower left corner of 720 x 560, turned and disturbed.
fn places(turn: f64, noise: f64) -> Vec<[f64; 2]> {
    let (sin, cos) = libm::sincos(turn.to_radians());
    let mut seed: u64 = 7;
    // Uniform within ±noise·sqrt 3, so that `noise` is the deviation of each coordinate.
    let mut any = move || {
        seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        ((seed >> 33) as f64 / (1u64 << 31) as f64 - 0.5) * 2.0 * noise * 3f64.sqrt()
    };
    let mut places = Vec::new();
    for row in 0..5 {
        let n = 5 - row % 2;
        for column in 0..n {
            let x = (f64::from(column) - f64::from(n - 1) / 2.0) * 130.0;
            let y = (2.0 - f64::from(row)) * 90.0;
            places.push([360.0 + x * cos - y * sin + any(), 280.0 + x * sin + y * cos + any()]);
        }
    }
    places
}

fn laid_out(places: &[[f64; 2]], more: &str) -> Layout {
    let list: Vec<String> = places.iter().map(|[x, y]| format!("[{x:.4}, {y:.4}]")).collect();
    let text = job_text(&[
        ("panel", "[panel.rectangle]\nwidth = 720\nheight = 560"),
        (
            "pattern",
            &format!(
                "[pattern.diamond]\nwidth = 125\nheight = 190\nedge = 60\nmeasured = [{}]\n{more}",
                list.join(", ")
            ),
        ),
        ("fabric", "[fabric]\nroll_width = 1400\nturn_in = 75\nease = 20"),
    ]);
    layout::lay_out(&job(&text)).unwrap_or_else(|wrong| panic!("{wrong:#?}"))
}

#[test]
fn an_undisturbed_grid_comes_back_exactly() {
    for turn in [0.0, 1.5, -2.0] {
        let found = laid_out(&places(turn, 0.0), "");
        assert_relative_eq!(found.fitted.width, 130.0, epsilon = 1e-3);
        assert_relative_eq!(found.fitted.height, 180.0, epsilon = 1e-3);
        assert_eq!((found.fitted.across, found.fitted.rows, found.buttons.len()), (5, 5, 23));
        let old = found.surveyed.expect("a survey");
        assert_relative_eq!(old.turned, turn, epsilon = 1e-4);
        assert!(old.rms() < 1e-3);
    }
}

/// With n places disturbed by s each way, W comes back with a deviation of 2·s/sqrt(Σu²), u in half columns
/// from the middle, and the rest is s·sqrt(2 - 5/n): C. F. Gauss, "Theoria combinationis observationum" (1823).
#[test]
fn a_disturbed_grid_comes_back_within_its_noise() {
    let noise = 2.0;
    let found = laid_out(&places(0.6, noise), "");
    let squares = |counts: [i32; 2]| -> f64 {
        // Three rows of 5 and two of 4.
        let row = |n: i32| {
            (0..n).map(|c| f64::from(2 * c - (n - 1)) * f64::from(2 * c - (n - 1))).sum::<f64>()
        };
        f64::from(counts[0]) * row(5) + f64::from(counts[1]) * row(4)
    };
    let of_width = 2.0 * noise / squares([3, 2]).sqrt();
    assert!(
        (found.fitted.width - 130.0).abs() < 4.0 * of_width,
        "{} ± {of_width}",
        found.fitted.width
    );
    let rows: f64 = [-4.0f64, -2.0, 0.0, 2.0, 4.0]
        .iter()
        .zip([5.0, 4.0, 5.0, 4.0, 5.0])
        .map(|(v, n)| v * v * n)
        .sum();
    let of_height = 4.0 * noise / rows.sqrt();
    assert!(
        (found.fitted.height - 180.0).abs() < 4.0 * of_height,
        "{} ± {of_height}",
        found.fitted.height
    );
    let old = found.surveyed.expect("a survey");
    let wanted = noise * (2.0 - 5.0 / 23.0f64).sqrt();
    assert!((old.rms() / wanted - 1.0).abs() < 0.4, "{} against {wanted}", old.rms());
}

#[test]
fn positions_are_reproduced_or_trued_up() {
    let measured = places(0.0, 2.0);
    let kept = laid_out(&measured, "positions = \"reproduce\"");
    for [x, y] in &measured {
        let near = |b: &layout::Button| {
            (b.at.x + 360.0 - x).abs() < 1e-3 && (b.at.y + 280.0 - y).abs() < 1e-3
        };
        assert!(kept.buttons.iter().any(near));
    }
    let trued = laid_out(&measured, "positions = \"true\"");
    for button in &trued.buttons {
        let twin = trued
            .buttons
            .iter()
            .any(|b| (b.at.x + button.at.x).abs() < 1e-9 && b.at.y == button.at.y);
        assert!(twin, "{} has a twin", button.name);
    }
    let from_middle: Vec<[f64; 2]> = measured.iter().map(|[x, y]| [x - 360.0, y - 280.0]).collect();
    let same = laid_out(&from_middle, "measured_from = \"middle\"");
    assert!(same.buttons.iter().zip(&kept.buttons).all(|(a, b)| a.at.distance(b.at) < 1e-3));
}

/// A button lost from the old panel leaves the names of the others as they are.
#[test]
fn a_missing_button_is_a_gap_in_the_grid() {
    let mut measured = places(0.0, 1.0);
    measured.remove(6);
    let found = laid_out(&measured, "");
    let names: Vec<String> = found.buttons.iter().map(|b| b.name.to_string()).collect();
    assert_eq!(names.len(), 22);
    assert!(!names.contains(&"2-2".to_string()) && names.contains(&"2-3".to_string()), "{names:?}");
}

/// A job with `measured` from a drawing; `panel` may be drawn in the same one.
fn drawn(panel: &str, file: &str, more: &str) -> Result<Layout, String> {
    let text = job_text(&[
        ("panel", panel),
        ("pattern", &format!("[pattern.diamond]\nwidth = 125\nheight = 190\nedge = 60\n{more}")),
        ("fabric", "[fabric]\nroll_width = 1400\nturn_in = 75\nease = 20"),
    ]);
    let source = source(&text);
    let mut job = reader::read(&source).unwrap_or_else(|wrong| panic!("{wrong:#?}"));
    for (_, bytes) in job.drawings() {
        *bytes = file.as_bytes().to_vec();
    }
    let hand = job.hands().pop().expect("a hand");
    layout::lay_out(&hand)
        .map_err(|wrong| anstream::adapter::strip_str(&diag::render(&source, &wrong)).to_string())
}

const PLAIN: &str = "[panel.rectangle]\nwidth = 720\nheight = 560";

fn at(kind: &str, [x, y]: [f64; 2]) -> String {
    match kind {
        "CIRCLE" => entity(kind, "BUTTONS", &[(10, x), (20, y), (30, 0.0), (40, 9.0)]),
        _ => entity(kind, "BUTTONS", &[(10, x), (20, y), (30, 0.0)]),
    }
}

#[test]
fn drawn_places_are_those_that_were_typed() {
    let places = places(1.5, 2.0);
    let typed = laid_out(&places, "");
    for kind in ["CIRCLE", "POINT"] {
        let mut entities: Vec<String> = places.iter().map(|p| at(kind, *p)).collect();
        entities.push(entity("LINE", "EDGE", &[(10, 0.0), (20, 0.0), (11, 9.0), (21, 9.0)]));
        let measured = "measured = { file = \"old.dxf\", layer = \"buttons\" }";
        let found = drawn(PLAIN, &drawing(4, &entities), measured).expect("a layout");
        assert_eq!(found.buttons.len(), typed.buttons.len());
        for (a, b) in found.buttons.iter().zip(&typed.buttons) {
            assert_eq!(a.name, b.name);
            assert!(a.at.distance(b.at) < 1e-3, "typed to four decimals");
        }
        // Inches are inches.
        let small: Vec<String> = places.iter().map(|p| at(kind, p.map(|c| c / 25.4))).collect();
        let found = drawn(PLAIN, &drawing(1, &small), measured).expect("a layout");
        assert!(found.buttons[0].at.distance(typed.buttons[0].at) < 1e-3);
    }
}

/// A panel and its buttons in one drawing lie to each other as they are drawn, wherever that is.
#[test]
fn places_drawn_with_the_panel_lie_where_they_are_drawn() {
    let mut entities = stadium();
    let places: Vec<[f64; 2]> =
        places(0.0, 0.0).iter().map(|[x, y]| [x + 40.0, y - 80.0]).collect();
    entities.extend(places.iter().map(|p| at("POINT", *p)));
    let panel = "[panel.drawing]\nfile = \"old.dxf\"\nlayer = \"EDGE\"";
    let measured = "measured = { file = \"old.dxf\", layer = \"BUTTONS\" }";
    let found = drawn(panel, &drawing(4, &entities), measured).expect("a layout");
    let all = found.buttons.iter().chain(&found.dropped);
    let wanted: Vec<[f64; 2]> = places.iter().map(|[x, y]| [x - 400.0, y - 200.0]).collect();
    for button in all {
        let near =
            |p: &&[f64; 2]| (p[0] - button.at.x).abs() < 0.05 && (p[1] - button.at.y).abs() < 0.05;
        assert!(wanted.iter().find(near).is_some(), "{:?}", button.at);
    }
    // The other hand has them on the other side.
    let text = "[panel.drawing]\nfile = \"old.dxf\"\nlayer = \"EDGE\"";
    let other = drawn(&format!("hand = \"right\"\n{text}"), &drawing(4, &entities), measured);
    let other = other.expect("a layout");
    let mirrored = |x: f64, y: f64| {
        other.buttons.iter().any(|b| (b.at.x + x).abs() < 1e-6 && (b.at.y - y).abs() < 1e-6)
    };
    assert!(found.buttons.iter().all(|b| mirrored(b.at.x, b.at.y)));
}

#[test]
fn drawn_places_that_are_none_are_said() {
    let four: Vec<String> = places(0.0, 0.0)[..4].iter().map(|p| at("POINT", *p)).collect();
    let astray = [&places(0.0, 0.0)[..], &[[700.0, 30.0]]].concat();
    let astray: Vec<String> = astray.iter().map(|p| at("POINT", *p)).collect();
    let mut nowhere = astray.clone();
    nowhere.push("0\nPOINT\n8\nBUTTONS\n10\nnan\n20\n5\n30\n0\n".to_string());
    let lines = stadium();
    let two = [entity("POINT", "A", &[(10, 1.0), (20, 1.0), (30, 0.0)]), at("POINT", [4.0, 4.0])];
    let cases = [
        ("too_few_drawn_places", "measured = { file = \"old.dxf\" }", &four[..]),
        ("a_drawn_place_astray", "measured = { file = \"old.dxf\" }", &astray[..]),
        ("a_drawn_place_nowhere", "measured = { file = \"old.dxf\" }", &nowhere[..]),
        ("no_drawn_place", "measured = { file = \"old.dxf\" }", &lines[..]),
        (
            "no_drawn_place_on_the_layer",
            "measured = { file = \"old.dxf\", layer = \"HOLES\" }",
            &four[..],
        ),
        ("drawn_places_on_two_layers", "measured = { file = \"old.dxf\" }", &two[..]),
    ];
    for (name, measured, entities) in cases {
        let said = drawn(PLAIN, &drawing(4, entities), measured).err();
        insta::assert_snapshot!(name, said.unwrap_or("nothing is wrong".to_string()));
    }
}
