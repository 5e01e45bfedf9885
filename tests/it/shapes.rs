//! Outlines: measured against closed forms, and what cannot be one.

use crate::demo::{job, job_text, source};
use approx::assert_relative_eq;
use bradawl::{
    frame::{PanelFront, Point},
    job, layout,
    outline::{self, Outline},
};
use proptest::prelude::*;
use std::f64::consts::PI;

/// The outline of a `[panel.…]` text.
pub fn outline_of(panel: &str) -> Outline {
    let job = job(&job_text(&[("panel", panel)]));
    outline::outline(&job.panel).unwrap_or_else(|wrong| panic!("{wrong:#?}"))
}

/// Size, area and perimeter, to a millionth; arcs that stand for curves stray at most 0.002 mm.
#[track_caller]
fn measures(panel: &str, size: [f64; 2], area: f64, perimeter: f64) {
    let found = outline_of(panel);
    assert_relative_eq!(found.width(), size[0], max_relative = 1e-8);
    assert_relative_eq!(found.height(), size[1], max_relative = 1e-8);
    assert_relative_eq!(found.area(), area, max_relative = 2e-6);
    assert_relative_eq!(found.perimeter(), perimeter, max_relative = 2e-6);
    // The same area by a library's own integral over the curves that are drawn.
    assert_relative_eq!(kurbo::Shape::area(found.path()), area, max_relative = 1e-5);
}

#[test]
fn a_rectangle_with_rounded_corners() {
    measures("[panel.rectangle]\nwidth = 800\nheight = 500", [800.0, 500.0], 400_000.0, 2600.0);
    let r = 60.0;
    measures(
        "[panel.rectangle]\nwidth = 800\nheight = 500\nradius = 60",
        [800.0, 500.0],
        400_000.0 - (4.0 - PI) * r * r,
        2600.0 - 8.0 * r + 2.0 * PI * r,
    );
    let squares = 40.0 * 40.0 + 100.0 * 100.0;
    measures(
        "[panel.rectangle]\nwidth = 800\nheight = 500\nradius = { top_left = 40, bottom_right = 100 }",
        [800.0, 500.0],
        400_000.0 - (1.0 - PI / 4.0) * squares,
        2600.0 - 2.0 * 140.0 + PI / 2.0 * 140.0,
    );
    // A stadium: two roundings that meet.
    measures(
        "[panel.rectangle]\nwidth = 800\nheight = 500\nradius = 250",
        [800.0, 500.0],
        300.0 * 500.0 + PI * 250.0 * 250.0,
        600.0 + 2.0 * PI * 250.0,
    );
}

#[test]
fn arches_of_one_arc() {
    // A half circle over a body.
    measures(
        "[panel.arch]\nwidth = 600\nheight = 900\nrise = 300",
        [600.0, 900.0],
        600.0 * 600.0 + PI * 300.0 * 300.0 / 2.0,
        600.0 * 3.0 + PI * 300.0,
    );
    // A segment: radius from rise and chord, r = (a² + b²) / 2b.
    let (a, b) = (500.0, 200.0);
    let r: f64 = (a * a + b * b) / (2.0 * b);
    let angle = 2.0 * libm::asin(a / r);
    measures(
        "[panel.arch]\nwidth = 1000\nheight = 700\nrise = 200",
        [1000.0, 700.0],
        1000.0 * 500.0 + r * r / 2.0 * (angle - libm::sin(angle)),
        1000.0 + 2.0 * 500.0 + r * angle,
    );
}

#[test]
fn a_three_centred_arch_has_no_kink() {
    let found =
        outline_of("[panel.arch]\nwidth = 1000\nheight = 700\nrise = 300\narcs = \"three\"");
    let arcs: Vec<_> = found.pieces().filter(|piece| !piece.is_straight()).collect();
    assert_eq!(arcs.len(), 3);
    // Two arcs meet without a kink where the line of their centres runs through the meeting.
    let unit = |a: [f64; 2], b: [f64; 2]| {
        let [x, y] = [b[0] - a[0], b[1] - a[1]];
        let length = (x * x + y * y).sqrt();
        [x / length, y / length]
    };
    for pair in arcs.windows(2) {
        let [one, two] = [0, 1].map(|i| unit(pair[i].centre(), pair[0].to));
        assert_relative_eq!(one[0], two[0], epsilon = 1e-9);
        assert_relative_eq!(one[1], two[1], epsilon = 1e-9);
    }
    // Upright at the springing, level at the crown.
    assert_relative_eq!(arcs[0].centre()[1], arcs[0].from[1], epsilon = 1e-9);
    assert_relative_eq!(arcs[1].centre()[0], 0.0, epsilon = 1e-9);
    assert_relative_eq!(found.height(), 700.0, epsilon = 1e-9);
    // Areas of sectors and the triangle between the centres.
    let (small, large) = (arcs[0].radius(), arcs[1].radius());
    let (x, up) = (500.0 - small, large - 300.0);
    let sectors = small * small * arcs[0].turn() + large * large / 2.0 * arcs[1].turn();
    assert_relative_eq!(found.area(), 400_000.0 + sectors - x * up, max_relative = 1e-9);
}

#[test]
fn ellipses_and_circles() {
    measures("[panel.ellipse]\nwidth = 600\nheight = 600", [600.0, 600.0], PI * 9e4, PI * 600.0);
    // Perimeter by Ramanujan's second approximation, here good to 1e-9: S. Ramanujan, "Modular equations
    // and approximations to pi", Quarterly Journal of Mathematics 45 (1914).
    let (a, b): (f64, f64) = (500.0, 350.0);
    let h = (a - b) * (a - b) / ((a + b) * (a + b));
    let round = PI * (a + b) * (1.0 + 3.0 * h / (10.0 + (4.0 - 3.0 * h).sqrt()));
    measures("[panel.ellipse]\nwidth = 1000\nheight = 700", [1000.0, 700.0], PI * a * b, round);
}

#[test]
fn shouldered_tops() {
    let panel = |kind: &str, more: &str| {
        format!(
            "[panel.shouldered]\nwidth = 1400\nheight = 700\nshoulder_width = 200\nshoulder_drop = 100\nshoulder = \"{kind}\"\n{more}"
        )
    };
    let (whole, round) = (1400.0 * 700.0, 4200.0);
    measures(&panel("step", ""), [1400.0, 700.0], whole - 2.0 * 200.0 * 100.0, round);
    // The S halves its box.
    let (x, y): (f64, f64) = (100.0, 50.0);
    let angle = 2.0 * libm::atan(y / x);
    let r = (x * x + y * y).sqrt() / 2.0 / libm::sin(angle / 2.0);
    measures(
        &panel("swept", ""),
        [1400.0, 700.0],
        whole - 2.0 * 200.0 * 100.0 / 2.0,
        1400.0 + 1000.0 + 2.0 * 600.0 + 4.0 * r * angle,
    );
    // Steeper than wide: quarter rounds with an upright line between, within the same box.
    measures(
        "[panel.shouldered]\nwidth = 1400\nheight = 700\nshoulder_width = 100\nshoulder_drop = 300\nshoulder = \"swept\"",
        [1400.0, 700.0],
        whole - 2.0 * 100.0 * 300.0 / 2.0,
        1400.0 + 1200.0 + 2.0 * 400.0 + 2.0 * (PI * 50.0 + 200.0),
    );
    let scooped = outline_of(&panel("scoop", ""));
    assert_relative_eq!(
        scooped.area(),
        whole - 2.0 * PI / 4.0 * 200.0 * 100.0,
        max_relative = 1e-6
    );
    let round_scoop = "[panel.shouldered]\nwidth = 1400\nheight = 700\nshoulder_width = 150\nshoulder_drop = 150\nshoulder = \"scoop\"";
    measures(
        round_scoop,
        [1400.0, 700.0],
        whole - 2.0 * PI / 4.0 * 150.0 * 150.0,
        1400.0 + 1100.0 + 2.0 * 550.0 + PI * 150.0,
    );
    let (a, b): (f64, f64) = (500.0, 80.0);
    let r = (a * a + b * b) / (2.0 * b);
    let angle = 2.0 * libm::asin(a / r);
    measures(
        &panel("step", "rise = 80"),
        [1400.0, 700.0],
        1400.0 * 620.0 - 2.0 * 200.0 * 100.0 + r * r / 2.0 * (angle - libm::sin(angle)),
        1400.0 + 2.0 * 520.0 + 2.0 * 300.0 + r * angle,
    );
}

#[test]
fn polygons_with_rounded_points() {
    // A wing: straight back, sloping front; clockwise comes to the same.
    let points = ["[0, 0]", "[300, 0]", "[450, 400]", "[450, 800]", "[0, 800]"];
    let area = 450.0 * 800.0 - 150.0 * 400.0 / 2.0;
    let slope = (150.0f64 * 150.0 + 400.0 * 400.0).sqrt();
    let round = 300.0 + slope + 400.0 + 450.0 + 800.0;
    let forward = points.join(", ");
    let backward: Vec<&str> = points.into_iter().rev().collect();
    measures(&format!("[panel.polygon]\npoints = [{forward}]"), [450.0, 800.0], area, round);
    measures(
        &format!("[panel.polygon]\npoints = [{}]", backward.join(", ")),
        [450.0, 800.0],
        area,
        round,
    );
    // An inward corner of an L adds what an outward one takes away.
    let (r, cut) = (50.0, 1.0 - PI / 4.0);
    measures(
        "[panel.polygon]\npoints = [[0, 0], [600, 0], [600, 300], [300, 300, 50], [300, 600, 50], [0, 600]]",
        [600.0, 600.0],
        600.0 * 600.0 - 300.0 * 300.0 + cut * r * r - cut * r * r,
        2400.0 - 4.0 * r + PI * r,
    );
}

#[test]
fn svg_paths_of_every_command() {
    let path = |data: &str| format!("[panel.path]\ndata = \"{data}\"");
    let square = [600.0, 400.0, 240_000.0, 2000.0];
    for data in [
        "M0 0 L600 0 600 400 0 400 Z",
        "m 10,20 h600 v400 h-600 z",
        "M0,0H600V400H0V0",
        "M0 0 600 0 600 400 0 400z",
        "M 0 0 C 200 0 400 0 600 0 V 100 S 600 300 600 400 L 0 400 Z",
        "M 0 0 Q 300 0 600 0 L 600 200 t 0 200 H 0 Z",
        "M0-0L6e2.0 600 4E+2L0 400Z",
    ] {
        measures(&path(data), [square[0], square[1]], square[2], square[3]);
    }
    // Arcs: a circle from two halves, in and out of the flags' shorthand.
    measures(
        &path("M-300 0 A300 300 0 0 1 300 0 A300 300 0 01-300 0Z"),
        [600.0, 600.0],
        PI * 9e4,
        PI * 600.0,
    );
    // A turned ellipse is an ellipse all the same.
    let turned = outline_of(&path("M-400 0 A400 200 30 0 0 400 0 A400 200 30 0 0 -400 0 Z"));
    let scale = turned.area() / PI;
    // The chord 800 through the centre of an ellipse turned by 30 degrees scales its axes up.
    let (sin, cos) = libm::sincos(PI / 6.0);
    let grown = (cos / 400.0) * (cos / 400.0) + (sin / 200.0) * (sin / 200.0);
    assert_relative_eq!(scale, 400.0 * 200.0 * grown * 160_000.0, max_relative = 2e-6);
    // A smooth quadratic goes on as its neighbour's mirror image: what one adds the other takes away.
    let wave = outline_of(&path("M0 0 Q150 -100 300 0 T600 0 V400 H0 Z"));
    assert_relative_eq!(wave.area(), 240_000.0, max_relative = 1e-6);
    assert_relative_eq!(wave.height(), 450.0, max_relative = 1e-5);
    // One arch of a cubic: area 3/10 of height of control times width, plus the body.
    let cubic = outline_of(&path("M0 0 C0 -200 600 -200 600 0 V400 H0 Z"));
    assert_relative_eq!(cubic.height(), 550.0, max_relative = 1e-5);
    assert_relative_eq!(cubic.area(), 240_000.0 + 600.0 * 200.0 * 0.6, max_relative = 1e-5);
}

/// A star about the origin: never crossing itself, as ragged as it likes.
fn star() -> impl Strategy<Value = Vec<[f64; 2]>> {
    proptest::collection::vec(180.0..420.0f64, 3..24).prop_map(|radii| {
        let n = radii.len() as f64;
        let corner = |(i, r): (usize, f64)| {
            let (sin, cos) = libm::sincos(2.0 * PI * i as f64 / n);
            [r * cos, r * sin]
        };
        radii.into_iter().enumerate().map(corner).collect()
    })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 1000, failure_persistence: None, ..ProptestConfig::default() })]

    /// No button closer than `edge`, by a distance computed here anew from the points that were written.
    #[test]
    fn no_button_stands_nearer_than_the_edge(points in star(), edge in 30..90i32) {
        let list: Vec<String> = points.iter().map(|[x, y]| format!("[{x:.3}, {y:.3}]")).collect();
        let text = job_text(&[
            ("panel", &format!("[panel.polygon]\npoints = [{}]", list.join(", "))),
            ("pattern", &format!("[pattern.diamond]\nwidth = 60\nheight = 90\nfit = \"exact\"\nedge = {edge}")),
        ]);
        let job = job::read(&source(&text)).expect("the text is a job");
        let Ok(layout) = layout::lay_out(&job) else { return Ok(()) };
        // Where the middle of the bounding box lies in the points' own coordinates.
        let side = |axis: usize| {
            let along = points.iter().map(move |p| (p[axis] * 1000.0).round() / 1000.0);
            (along.clone().fold(f64::INFINITY, f64::min) + along.fold(f64::NEG_INFINITY, f64::max)) / 2.0
        };
        let middle = [side(0), side(1)];
        for button in &layout.buttons {
            let at = [button.at.x + middle[0], button.at.y + middle[1]];
            let n = points.len();
            let distance = (0..n).map(|i| to_side(at, points[i], points[(i + 1) % n])).fold(f64::INFINITY, f64::min);
            prop_assert!(distance >= f64::from(edge) - 2e-3, "{} stands {distance} in", button.name);
        }
        let all = layout.buttons.len() + layout.dropped.len();
        prop_assert_eq!(all, layout.fitted.count() as usize);
    }
}

fn to_side(p: [f64; 2], a: [f64; 2], b: [f64; 2]) -> f64 {
    let [w, g] = [[b[0] - a[0], b[1] - a[1]], [p[0] - a[0], p[1] - a[1]]];
    let share = ((g[0] * w[0] + g[1] * w[1]) / (w[0] * w[0] + w[1] * w[1])).clamp(0.0, 1.0);
    let [x, y] = [g[0] - share * w[0], g[1] - share * w[1]];
    (x * x + y * y).sqrt()
}

#[test]
fn depth_is_the_distance_to_lines_and_arcs() {
    let depth = |outline: &Outline, x: f64, y: f64| outline.depth(Point::<PanelFront>::new(x, y));
    let circle = outline_of("[panel.ellipse]\nwidth = 600\nheight = 600");
    for (x, y, wanted) in [
        (0.0, 0.0, 300.0),
        (100.0, 0.0, 200.0),
        (180.0, -240.0, 0.0),
        (0.0, 400.0, -100.0),
        (-301.0, 0.0, -1.0),
    ] {
        assert_relative_eq!(depth(&circle, x, y), wanted, epsilon = 1e-9);
    }
    let stadium = outline_of("[panel.rectangle]\nwidth = 800\nheight = 500\nradius = 250");
    assert_relative_eq!(depth(&stadium, 150.0 + 60.0, 80.0), 150.0, epsilon = 1e-9);
    assert_relative_eq!(
        depth(&stadium, 390.0, 240.0),
        250.0 - (240.0f64 * 240.0 * 2.0).sqrt(),
        epsilon = 1e-9
    );
    // In the hollow of a scoop: outside, and to the arc.
    let scooped = outline_of(
        "[panel.shouldered]\nwidth = 1400\nheight = 700\nshoulder_width = 150\nshoulder_drop = 150\nshoulder = \"scoop\"",
    );
    assert_relative_eq!(depth(&scooped, 700.0 - 60.0, 350.0 - 80.0), -50.0, epsilon = 1e-9);
    assert_relative_eq!(depth(&scooped, 700.0 - 120.0, 350.0 - 160.0), 50.0, epsilon = 1e-9);
}

#[test]
fn an_inset_lies_at_its_distance_all_round() {
    for panel in [
        "[panel.rectangle]\nwidth = 800\nheight = 500\nradius = 60",
        "[panel.shouldered]\nwidth = 1400\nheight = 700\nshoulder_width = 200\nshoulder_drop = 100\nshoulder = \"swept\"",
        "[panel.ellipse]\nwidth = 1000\nheight = 700",
        "[panel.polygon]\npoints = [[0, 0], [600, 0], [600, 300], [300, 300, 50], [300, 600, 50], [0, 600]]",
    ] {
        let outline = outline_of(panel);
        for by in [40.0, -25.0] {
            let found = outline.inset(by);
            assert_eq!(found.len(), 1, "{panel}");
            for corner in &found[0] {
                let depth = outline.depth(Point::new(corner.at[0], corner.at[1]));
                assert_relative_eq!(depth, by, epsilon = 1e-3);
            }
        }
        // Outwards, Steiner: perimeter grows by 2·pi·d where nothing is hollow.
        if !panel.contains("shouldered") && !panel.contains("polygon") {
            let grown = outline::path(&outline.inset(-25.0)[0]);
            let area = outline.area() + 25.0 * outline.perimeter() + PI * 625.0;
            assert_relative_eq!(kurbo::Shape::area(&grown), area, max_relative = 1e-5);
        }
    }
}

#[test]
fn ten_thousand_pieces_are_an_outline_like_any_other() {
    let points: Vec<String> = (0..10_000)
        .map(|i| {
            let (sin, cos) = libm::sincos(2.0 * PI * f64::from(i) / 10_000.0);
            format!("[{:.4}, {:.4}]", 360.0 * cos, 240.0 * sin)
        })
        .collect();
    let panel = format!("[panel.polygon]\npoints = [{}]", points.join(", "));
    let text = job_text(&[("panel", &panel)]);
    let layout = layout::lay_out(&job(&text)).expect("it is laid out");
    assert!(layout.nearest_edge >= 90.0 - 1e-6);
    assert_relative_eq!(layout.outline.area(), PI * 360.0 * 240.0, max_relative = 1e-5);
}

/// A pair's two covers are cut as mirror images, so what leads to the edge must be, wherever it starts: beside
/// corners, and on the line of a V or of a joint where two ways are as near.
#[test]
fn the_other_hand_is_left_at_the_mirrored_place() {
    let shapes = [
        "[panel.rectangle]\nwidth = 800\nheight = 500\nradius = 60",
        "[panel.arch]\nwidth = 700\nheight = 500\nrise = 140\narcs = \"three\"",
        "[panel.ellipse]\nwidth = 900\nheight = 500",
        "[panel.polygon]\npoints = [[0, 0], [800, 0], [800, 500], [400, 380], [0, 500]]",
        "[panel.polygon]\npoints = [[0, 0], [640, 0], [700, 460], [320, 600], [40, 380]]",
    ];
    for shape in shapes {
        let outline = outline_of(shape);
        let mirror = outline.other_hand();
        let [across, up] = [outline.width(), outline.height()];
        for (i, j) in (0..=16).flat_map(|i| (0..=16).map(move |j| (i, j))) {
            let [x, y] = [(f64::from(i) / 16.0 - 0.5) * across, (f64::from(j) / 16.0 - 0.5) * up];
            if outline.depth(Point::new(x, y)) <= 0.0 {
                continue;
            }
            for [dx, dy] in
                [[0.0, 1.0], [0.0, -1.0], [1.0, 0.0], [-1.0, 0.0], [0.6, 0.8], [-0.6, 0.8]]
            {
                let [one, other] = [
                    outline.foot(Point::new(x, y), [dx, dy]).at,
                    mirror.foot(Point::new(-x, y), [-dx, dy]).at,
                ];
                let apart = (one[0] + other[0]).abs().max((one[1] - other[1]).abs());
                assert!(apart < 1e-4, "{shape}: from {x} {y} towards {dx} {dy}: {one:?} {other:?}");
            }
        }
    }
}
