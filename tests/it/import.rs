//! Outlines from drawings: joined, in the right unit, and refused with where they are wrong.

use crate::demo::{job_text, source};
use approx::assert_relative_eq;
use bradawl::{diag, job, outline};
use std::f64::consts::PI;

/// A drawing of some entities, each as its group codes; `unit` is `$INSUNITS`.
pub fn drawing(unit: u32, entities: &[String]) -> String {
    format!(
        "0\nSECTION\n2\nHEADER\n9\n$ACADVER\n1\nAC1009\n9\n$INSUNITS\n70\n{unit}\n9\n$TDCREATE\n40\nnonsense\n0\nENDSEC\n\
         0\nSECTION\n2\nENTITIES\n{}0\nENDSEC\n0\nEOF\n",
        entities.concat()
    )
}

pub fn entity(kind: &str, layer: &str, codes: &[(i32, f64)]) -> String {
    let codes: String = codes
        .iter()
        .map(|(code, n)| match code {
            62..=79 => format!("{code}\n{n:.0}\n"),
            _ => format!("{code}\n{n}\n"),
        })
        .collect();
    format!("0\n{kind}\n8\n{layer}\n{codes}")
}

fn line(layer: &str, a: [f64; 2], b: [f64; 2]) -> String {
    entity("LINE", layer, &[(10, a[0]), (20, a[1]), (30, 0.0), (11, b[0]), (21, b[1]), (31, 0.0)])
}

fn arc(centre: [f64; 2], r: f64, from: f64, to: f64) -> String {
    entity(
        "ARC",
        "EDGE",
        &[(10, centre[0]), (20, centre[1]), (30, 0.0), (40, r), (50, from), (51, to)],
    )
}

/// A stadium 800 x 400 in pieces, out of order and every which way.
pub fn stadium() -> Vec<String> {
    vec![
        line("EDGE", [200.0, 400.0], [600.0, 400.0]),
        arc([600.0, 200.0], 200.0, 270.0, 90.0),
        line("EDGE", [600.0, 0.0], [200.05, 0.0]),
        arc([200.0, 200.0], 200.0, 90.0, 270.0),
    ]
}

fn read(text: &str, more: &str) -> Result<outline::Outline, String> {
    let file = job_text(&[("panel", &format!("[panel.drawing]\nfile = \"old.dxf\"\n{more}"))]);
    let source = source(&file);
    let mut job = job::read(&source).expect("a job");
    *job.panel.drawing().expect("it names a drawing").1 = text.as_bytes().to_vec();
    outline::outline(&job.panel)
        .map_err(|wrong| anstream::adapter::strip_str(&diag::render(&source, &wrong)).to_string())
}

#[test]
fn lines_and_arcs_are_joined() {
    let found = read(&drawing(4, &stadium()), "").expect("an outline");
    assert_relative_eq!(found.width(), 800.0, epsilon = 1e-6);
    assert_relative_eq!(found.area(), 400.0 * 400.0 + PI * 4e4, max_relative = 2e-5);
    assert_relative_eq!(found.perimeter(), 800.0 + PI * 400.0, max_relative = 1e-4);
}

#[test]
fn the_unit_is_the_drawings_or_the_jobs() {
    for (unit, mm) in [(1, 25.4), (4, 1.0), (5, 10.0)] {
        let circle = entity("CIRCLE", "EDGE", &[(10, 3.0), (20, -4.0), (30, 0.0), (40, 20.0)]);
        let found = read(&drawing(unit, &[circle]), "").expect("an outline");
        assert_relative_eq!(found.width(), 40.0 * mm, epsilon = 1e-9);
        assert_relative_eq!(found.area(), PI * 400.0 * mm * mm, max_relative = 1e-9);
    }
    let found =
        read(&drawing(0, &stadium()), "units = \"cm\"\ngap = \"1 mm\"").expect("an outline");
    assert_relative_eq!(found.height(), 4000.0, max_relative = 1e-6);
}

#[test]
fn polylines_ellipses_and_splines() {
    let vertex = |x: f64, y: f64, bulge: f64| {
        entity("VERTEX", "0", &[(10, x), (20, y), (30, 0.0), (42, bulge)])
    };
    let polyline = [
        entity("POLYLINE", "EDGE", &[(66, 1.0), (70, 1.0)]),
        vertex(0.0, 0.0, 0.0),
        vertex(600.0, 0.0, 0.0),
        vertex(600.0, 300.0, 1.0),
        vertex(0.0, 300.0, 0.0),
        "0\nSEQEND\n".to_string(),
    ]
    .concat();
    let found = read(&drawing(4, &[polyline]), "").expect("an outline");
    assert_relative_eq!(found.area(), 600.0 * 300.0 + PI * 9e4 / 2.0, max_relative = 1e-9);
    // Half an ellipse from the right end of its long axis, and a line.
    let ellipse = entity(
        "ELLIPSE",
        "EDGE",
        &[
            (10, 0.0),
            (20, 0.0),
            (30, 0.0),
            (11, 400.0),
            (21, 0.0),
            (31, 0.0),
            (40, 0.5),
            (41, 0.0),
            (42, PI),
        ],
    );
    let closed = [ellipse, line("EDGE", [-400.0, 0.0], [400.0, 0.0])];
    let found = read(&drawing(4, &closed), "").expect("an outline");
    assert_relative_eq!(found.area(), PI * 400.0 * 200.0 / 2.0, max_relative = 1e-6);
    // A quarter circle as a rational spline, exactly, and its two radii.
    let root = std::f64::consts::FRAC_1_SQRT_2;
    let mut codes = vec![(70, 4.0), (71, 2.0), (72, 6.0), (73, 3.0)];
    codes.extend([0.0, 0.0, 0.0, 1.0, 1.0, 1.0].map(|k| (40, k)));
    codes.extend([1.0, root, 1.0].map(|w| (41, w)));
    for [x, y] in [[500.0, 0.0], [500.0, 500.0], [0.0, 500.0]] {
        codes.extend([(10, x), (20, y), (30, 0.0)]);
    }
    let quarter = [
        entity("SPLINE", "EDGE", &codes),
        line("EDGE", [0.0, 0.0], [500.0, 0.0]),
        line("EDGE", [0.0, 0.0], [0.0, 500.0]),
    ];
    let found = read(&drawing(4, &quarter), "").expect("an outline");
    assert_relative_eq!(found.area(), PI * 25e4 / 4.0, max_relative = 1e-6);
}

#[test]
fn only_the_layer_that_was_named_counts() {
    let mut entities = stadium();
    entities.push(line("centre lines", [0.0, 200.0], [800.0, 200.0]));
    entities.push(entity("TEXT", "NOTES", &[(10, 0.0), (20, 0.0), (40, 10.0), (1, 7.0)]));
    let text = drawing(4, &entities);
    assert!(read(&text, "layer = \"edge\"").is_ok());
    insta::assert_snapshot!(
        "layers",
        [
            read(&text, "").expect_err("two layers"),
            read(&text, "layer = \"notes\"").expect_err("no outline there"),
        ]
        .join("\n")
    );
}

#[test]
fn what_is_no_outline_is_refused_with_where() {
    let without = |i: usize| {
        let mut entities = stadium();
        entities.remove(i);
        entities
    };
    let with = |more: String| {
        let mut entities = stadium();
        entities.push(more);
        entities
    };
    let spline = |knots: &[f64]| {
        let mut codes = vec![(70, 8.0), (71, 3.0)];
        codes.extend(knots.iter().map(|&k| (40, k)));
        for [x, y] in [[0.0, 0.0], [200.0, 300.0], [400.0, -300.0], [600.0, 0.0]] {
            codes.extend([(10, x), (20, y), (30, 0.0)]);
        }
        entity("SPLINE", "EDGE", &codes)
    };
    let cases = [
        ("no unit", drawing(0, &stadium()), ""),
        ("two units", drawing(1, &stadium()), "units = \"mm\""),
        ("open", drawing(4, &without(1)), ""),
        ("a gap that is too wide", drawing(4, &stadium()), "gap = 0.02"),
        ("twice", drawing(4, &with(line("EDGE", [600.0, 400.0], [200.0, 400.0]))), ""),
        ("a branch", drawing(4, &with(line("EDGE", [600.0, 400.0], [900.0, 500.0]))), ""),
        (
            "two outlines",
            drawing(
                4,
                &with(entity("CIRCLE", "EDGE", &[(10, 400.0), (20, 200.0), (30, 0.0), (40, 20.0)])),
            ),
            "",
        ),
        (
            "crossing",
            drawing(
                4,
                &[
                    line("EDGE", [0.0, 0.0], [500.0, 400.0]),
                    line("EDGE", [500.0, 400.0], [500.0, 0.0]),
                    line("EDGE", [500.0, 0.0], [0.0, 420.0]),
                    line("EDGE", [0.0, 420.0], [0.0, 0.0]),
                ],
            ),
            "",
        ),
        ("bad knots", drawing(4, &[spline(&[0.0, 0.0, 0.0, 0.0, 1.0, 1.0, 0.5, 1.0])]), ""),
        ("too few knots", drawing(4, &[spline(&[0.0, 1.0])]), ""),
        ("only a hatch", drawing(4, &[entity("HATCH", "EDGE", &[(10, 0.0)])]), ""),
        ("cut short", "0\nSECTION\n2\nENTITIES\n0\nLINE\n8\nEDGE\n10".to_string(), ""),
        ("something else", "PK\u{3}\u{4} this is no drawing\n".to_string(), ""),
        ("binary", "AutoCAD Binary DXF\r\n\u{1a}\0".to_string(), ""),
        ("nothing", String::new(), ""),
    ];
    let said: String = cases
        .iter()
        .map(|(why, text, more)| {
            format!("{why}\n{}\n", read(text, more).map(|_| ()).expect_err(why))
        })
        .collect();
    insta::assert_snapshot!("drawings", said);
}

/// Whatever comes, it is read or refused.
#[test]
fn a_damaged_drawing_is_read_or_refused() {
    let whole = drawing(4, &stadium());
    let lines: Vec<&str> = whole.lines().collect();
    for i in 0..lines.len() {
        for other in ["", "-1e400", "nan", "SEQEND"] {
            let mut damaged = lines.clone();
            damaged[i] = other;
            let _ = read(&(damaged.join("\n") + "\n"), "");
        }
        let _ = read(&lines[..i].join("\n"), "");
    }
}
