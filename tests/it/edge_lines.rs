//! What follows the panel's edge on the cover: turn-in, tack and trimming lines, notches and openings.

use crate::demo::{job, job_text};
use approx::assert_abs_diff_eq;
use bradawl::{
    frame::{Point, Sheet},
    layout::{Drawn, Layout, LineKind, Piece, lay_out},
};
use proptest::prelude::*;

const FORTY_AND_TWENTY: &str = "[fabric.allowance.measured]\nacross = 40\ndown = 20";

fn laid_out(changes: &[(&str, &str)]) -> Layout {
    lay_out(&job(&job_text(changes))).unwrap_or_else(|wrong| panic!("{wrong:#?}"))
}

fn lines(piece: &Piece, kind: LineKind) -> Vec<&Drawn> {
    piece.lines.iter().filter(|line| line.kind == kind).collect()
}

/// Left, bottom, right, top.
fn bounds(line: &[Point<Sheet>]) -> [f64; 4] {
    let all = |f: fn(&Point<Sheet>) -> f64| line.iter().map(f).collect::<Vec<f64>>();
    let (x, y) = (all(|p| p.x), all(|p| p.y));
    let low = |n: &[f64]| n.iter().copied().fold(f64::INFINITY, f64::min);
    let high = |n: &[f64]| n.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    [low(&x), low(&y), high(&x), high(&y)]
}

/// From a place to the nearest of a line.
fn distance(line: &[Point<Sheet>], [x, y]: [f64; 2]) -> f64 {
    use kurbo::ParamCurveNearest;
    let to = |p: &[Point<Sheet>]| {
        kurbo::Line::new((p[0].x, p[0].y), (p[1].x, p[1].y))
            .nearest(kurbo::Point::new(x, y), 1e-9)
            .distance_sq
    };
    line.windows(2).map(to).fold(f64::INFINITY, f64::min).sqrt()
}

/// By hand. A round panel of 600, four buttons 200 right, left, above and below its middle, so that each is
/// 100 from the edge. With 40 allowed across and 20 down the buttons are marked 220 and 210 from the middle. Half
/// of that goes to the edge too: it lies at 220 + 100 + 20 = 340 across and 210 + 100 + 10 = 320 up, shifted by 40
/// and by 20 from where it is on the panel. Half-way between, at 45 degrees, the shift is the mean of (40, 0)
/// and (0, 20): the edge lies at (212.132 + 20, 212.132 + 10). Foam 50, wadding 8 and board 12 are 70: the
/// cloth turns in 410 from the middle across, 390 up. It is cut 75 farther out.
#[test]
fn the_edge_of_a_round_panel_lies_as_by_hand() {
    let layout = laid_out(&[
        ("panel", "[panel.ellipse]\nwidth = 600\nheight = 600"),
        ("pattern", "[pattern.diamond]\nacross = 2\nrows = 3\ntop_row = \"short\"\nedge = 100"),
        ("allowance", FORTY_AND_TWENTY),
    ]);
    assert_eq!(layout.buttons.len(), 4);
    assert_eq!(layout.edge_pleats.len(), 4);
    let piece = &layout.cover.pieces[0];
    assert_abs_diff_eq!(piece.cut[0], 2.0 * 485.0, epsilon = 1e-9);
    assert_abs_diff_eq!(piece.cut[1], 2.0 * 465.0, epsilon = 1e-9);
    let [turn_in] = lines(piece, LineKind::TurnIn)[..] else { panic!("one closed line") };
    assert_eq!(turn_in.points.first(), turn_in.points.last());
    let found = bounds(&turn_in.points);
    for (found, expected) in found.into_iter().zip([75.0, 75.0, 970.0 - 75.0, 930.0 - 75.0]) {
        assert_abs_diff_eq!(found, expected, epsilon = 0.05);
    }
    // The board's edge is 70 within; half-way between two pleats too, whichever way the line runs there.
    let middle = [485.0, 465.0];
    let half_way = 300.0 / 2.0_f64.sqrt();
    let place = [middle[0] + half_way + 20.0, middle[1] + half_way + 10.0];
    assert_abs_diff_eq!(distance(&turn_in.points, place), 70.0, epsilon = 0.05);
    // In the corners cloth is left to trim.
    assert_eq!(lines(piece, LineKind::Trim).len(), 4);
}

/// The wide side of a rectangle lies at the same place whether its corners are square or rounded.
#[test]
fn rounded_corners_leave_the_sides_where_they_were() {
    let lines_of = |radius: u32| {
        let panel = format!("[panel.rectangle]\nwidth = 720\nheight = 480\nradius = {radius}");
        let layout = laid_out(&[("panel", &panel)]);
        let piece = layout.cover.pieces[0].clone();
        let turn_in = lines(&piece, LineKind::TurnIn)[0].points.clone();
        (piece.cut, bounds(&turn_in), turn_in.len(), lines(&piece, LineKind::Notch).len())
    };
    let (cut, square, corners, notches) = lines_of(0);
    assert_eq!(corners, 5, "four corners and the first again");
    let (cut_rounded, rounded, more, notches_rounded) = lines_of(50);
    assert!(more > corners);
    assert_eq!((cut, notches), (cut_rounded, notches_rounded));
    for (a, b) in square.into_iter().zip(rounded) {
        assert_abs_diff_eq!(a, b, epsilon = 1e-6);
    }
    assert_abs_diff_eq!(square[0], 75.0, epsilon = 1e-9);
}

/// By hand. Diamonds 135 by 190 marked 175 by 210: what is 27 from the middle across is marked 27·175/135 = 35 from
/// it, what is 38 down 38·210/190 = 42. An opening 54 by 76 in the middle is marked 70 by 84.
#[test]
fn an_opening_is_marked_as_much_larger_as_the_diamonds() {
    let layout = laid_out(&[
        (
            "wadding",
            "[wadding]\nthickness = 8\n[[opening]]\nreason = \"switch\"\nat = [0, 0]\nwidth = 54\nheight = 76",
        ),
        ("panel", "[panel.rectangle]\nwidth = 720\nheight = 560"),
        ("pattern", "[pattern.diamond]\nwidth = 135\nheight = 190\nedge = 90"),
        ("allowance", FORTY_AND_TWENTY),
    ]);
    assert_abs_diff_eq!(layout.fitted.width, 135.0, epsilon = 1e-9);
    assert_abs_diff_eq!(layout.fitted.height, 190.0, epsilon = 1e-9);
    let piece = &layout.cover.pieces[0];
    let [opening] = lines(piece, LineKind::Opening)[..] else { panic!("one closed line") };
    let [left, bottom, right, top] = bounds(&opening.points);
    assert_abs_diff_eq!(right - left, 70.0, epsilon = 1e-9);
    assert_abs_diff_eq!(top - bottom, 84.0, epsilon = 1e-9);
    assert_abs_diff_eq!((left + right) / 2.0, piece.cut[0] / 2.0, epsilon = 1e-9);
    let says = |line: &&Drawn| matches!(line.kind, LineKind::Words(_));
    let within = |p: &Point<Sheet>| (left..right).contains(&p.x) && (bottom..top).contains(&p.y);
    let written = piece.lines.iter().filter(says).filter(|line| line.points.iter().all(within));
    assert!(written.count() > 7, "CUT LAST stands in it");
}

/// Whether a closed line meets itself anywhere but where neighbours join.
fn meets_itself(line: &[Point<Sheet>]) -> bool {
    let cross = |o: &Point<Sheet>, p: &Point<Sheet>, q: &Point<Sheet>| {
        (p.x - o.x) * (q.y - o.y) - (p.y - o.y) * (q.x - o.x)
    };
    let sides: Vec<&[Point<Sheet>]> = line.windows(2).collect();
    let n = sides.len();
    (0..n).any(|i| {
        (i + 2..n).filter(|j| (i, *j) != (0, n - 1)).any(|j| {
            let ([a, b], [c, d]) = ([&sides[i][0], &sides[i][1]], [&sides[j][0], &sides[j][1]]);
            cross(a, b, c) * cross(a, b, d) < 0.0 && cross(c, d, a) * cross(c, d, b) < 0.0
        })
    })
}

fn holds(line: &[Point<Sheet>], p: &Point<Sheet>) -> bool {
    let right = line.windows(2).filter(|s| {
        (s[0].y > p.y) != (s[1].y > p.y)
            && p.x < s[0].x + (s[1].x - s[0].x) * (p.y - s[0].y) / (s[1].y - s[0].y)
    });
    right.count() % 2 == 1
}

fn panels() -> impl Strategy<Value = String> {
    let size = (500..1300i32, 450..900i32);
    prop_oneof![
        (size.clone(), 60..200i32).prop_map(|((w, h), rise)| format!(
            "[panel.arch]\nwidth = {w}\nheight = {h}\nrise = {rise}"
        )),
        (size.clone(), 80..150i32, 40..160i32, prop_oneof![Just("step"), Just("scoop"), Just("swept")])
            .prop_map(|((w, h), wide, drop, shoulder)| format!(
                "[panel.shouldered]\nwidth = {w}\nheight = {h}\nshoulder_width = {wide}\nshoulder_drop = {drop}\nshoulder = \"{shoulder}\""
            )),
        size.clone().prop_map(|(w, h)| format!("[panel.ellipse]\nwidth = {w}\nheight = {h}")),
        (size, 20..200i32, 0..60i32).prop_map(|((w, h), lean, radius)| format!(
            "[panel.polygon]\npoints = [[0, 0], [{w}, 0], [{}, {h}], [{lean}, {h}]]\nradius = {radius}",
            w - lean
        )),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 64, failure_persistence: None, ..ProptestConfig::default() })]

    /// Whatever the shape: the lines go round once, hold every mark, and lie within what is cut first.
    #[test]
    fn the_lines_along_the_edge_go_round_every_mark(
        panel in panels(),
        (across, rows) in (4..8u32, 3..7u32),
        top in prop_oneof![Just("straight"), Just("following")],
        (wide, high) in (20..60i32, 20..60i32),
    ) {
        let text = job_text(&[
            ("panel", &panel),
            ("pattern", &format!("[pattern.diamond]\nacross = {across}\nrows = {rows}\nedge = 80\ntop = \"{top}\"")),
            ("allowance", &format!("[fabric.allowance.measured]\nacross = {wide}\ndown = {high}")),
            ("fabric", "[fabric]\nroll_width = 5000\nturn_in = 75\nease = 25"),
        ]);
        let Ok(layout) = lay_out(&job(&text)) else { return Ok(()) };
        let piece = &layout.cover.pieces[0];
        for kind in [LineKind::TurnIn, LineKind::Tack] {
            let found = lines(piece, kind);
            prop_assert_eq!(found.len(), 1, "{:?}: one line, within the cut", kind);
            let line = &found[0].points;
            prop_assert_eq!(line.first(), line.last());
            prop_assert!(!meets_itself(line), "{:?}", kind);
            for (name, at) in &piece.marks {
                prop_assert!(holds(line, at), "{} lies outside {:?}", name, kind);
            }
        }
        let [w, h] = piece.cut;
        for p in piece.lines.iter().flat_map(|line| &line.points) {
            let beside = p.x.min(p.y).min(w - p.x).min(h - p.y);
            prop_assert!(beside > -1e-6, "{:?} lies beside the cloth of {} x {}", p, w, h);
        }
    }
}
