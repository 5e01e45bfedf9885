//! Figures of the trade, each with its published source.

use crate::demo::{job, job_text, machines};
use approx::assert_abs_diff_eq;
use bradawl::{
    layout::{Bounds, Layout, hole_allowance, lay_out},
    sim::{Setting, rehearse},
    units::{Unit, length},
};

const INCH: f64 = 25.4;

fn laid_out(changes: &[(&str, &str)]) -> Layout {
    lay_out(&job(&job_text(changes))).unwrap_or_else(|wrong| panic!("{wrong:#?}"))
}

fn rows(layout: &Layout) -> Vec<usize> {
    let last = layout.buttons.last().expect("there are buttons").name.row();
    (1..=last).map(|row| layout.buttons.iter().filter(|b| b.name.row() == row).count()).collect()
}

/// Button sizes. Source: button makers' size tables (sizes.com, workroombuttons.com): 40 line = 1 inch.
#[test]
fn button_lines_are_as_in_the_makers_tables() {
    let table = [
        (18, 11.43),
        (20, 12.70),
        (22, 13.97),
        (24, 15.24),
        (30, 19.05),
        (36, 22.86),
        (40, 25.40),
        (45, 28.575),
        (60, 38.10),
    ];
    for (line, expected) in table {
        let found = length(&format!("{line} line"), Unit::Millimetre).expect("a length");
        assert_abs_diff_eq!(found, expected, epsilon = 1e-9);
    }
}

/// Source: J. W. Stephenson, Cutting and Draping (New York, early 20th c., public domain), figs 113-115:
/// 12 x 18 in in bays of 3 in with 1 1/2 in fullness each way makes 18 x 27 in of marked cover. There the
/// edge bays get a whole bay's fullness; the lattice between the outside buttons is checked here.
#[test]
fn stephensons_buttoned_panel_has_its_marked_bays() {
    let layout = laid_out(&[
        ("units", "\"in\""),
        ("panel", "[panel.rectangle]\nwidth = 18\nheight = 12"),
        ("pattern", "[pattern.square]\nacross = 5\nrows = 3\nedge = 3"),
        ("allowance", "[fabric.allowance.measured]\nacross = 1.5\ndown = 1.5"),
    ]);
    assert_abs_diff_eq!(layout.fitted.width, 3.0 * INCH, epsilon = 1e-9);
    assert_abs_diff_eq!(layout.fitted.height, 3.0 * INCH, epsilon = 1e-9);
    let [w, h] = layout.cover.marked;
    assert_abs_diff_eq!(6.0 * w, 27.0 * INCH, epsilon = 1e-9);
    assert_abs_diff_eq!(4.0 * h, 18.0 * INCH, epsilon = 1e-9);
}

/// Source: "Settees and Couches", buttoned leather seat, fig. 733; the book is, from memory, Spons'
/// Mechanics' Own Book (London, 1885).
#[test]
fn a_leather_seat_of_7_by_5_and_a_half_is_marked_9_by_7_and_a_quarter() {
    let layout = laid_out(&[
        ("panel", "[panel.rectangle]\nwidth = \"42 in\"\nheight = \"24 in\""),
        (
            "pattern",
            "[pattern.diamond]\nwidth = \"7 in\"\nheight = \"5 1/2 in\"\nfit = \"exact\"\nedge = 80",
        ),
        ("allowance", "[fabric.allowance.measured]\nacross = \"2 in\"\ndown = \"1 3/4 in\""),
    ]);
    assert_abs_diff_eq!(layout.cover.marked[0], 228.6, epsilon = 1e-9);
    assert_abs_diff_eq!(layout.cover.marked[1], 184.15, epsilon = 1e-9);
}

/// Source: "Diamond Tufting 101", Apartment Therapy, 11 Nov 2008: foam 2 in, diamond 8 x 5 in, the depth
/// added at each button makes 12 x 9 in, so the allowance is twice the depth.
#[test]
fn adding_the_depth_at_each_button_is_a_factor_of_two() {
    let layout = laid_out(&[
        ("panel", "[panel.rectangle]\nwidth = \"48 in\"\nheight = \"30 in\""),
        ("foam", "[foam]\nthickness = \"2 in\"\nhole = 30"),
        ("wadding", ""),
        (
            "pattern",
            "[pattern.diamond]\nwidth = \"8 in\"\nheight = \"5 in\"\nfit = \"exact\"\nedge = 80",
        ),
        ("allowance", "[fabric.allowance.depth]\nfactor = 2.0"),
    ]);
    assert_abs_diff_eq!(layout.cover.marked[0], 304.8, epsilon = 1e-9);
    assert_abs_diff_eq!(layout.cover.marked[1], 228.6, epsilon = 1e-9);
}

/// Source: Stephenson, fig. 113A: squares ruled on the diagonal, 9 x 5 of 3 in, make 27 x 15 in, and the
/// marked side is to the finished diagonal as the square root of two.
#[test]
fn squares_on_the_diagonal_are_diamonds_as_high_as_wide() {
    let diagonal = 3.0 * 2f64.sqrt();
    let layout = laid_out(&[
        ("units", "\"in\""),
        ("panel", "[panel.rectangle]\nwidth = 40\nheight = 30"),
        (
            "pattern",
            &format!(
                "[pattern.diamond]\nwidth = {diagonal}\nheight = {diagonal}\nfit = \"exact\"\nedge = 3.5"
            ),
        ),
    ]);
    let (a, b) = (&layout.buttons[0], &layout.buttons[layout.fitted.across as usize]);
    assert_eq!((a.name.to_string(), b.name.to_string()), ("1-1".into(), "2-1".into()));
    assert_abs_diff_eq!(a.at.distance(b.at), 3.0 * INCH, epsilon = 1e-9);
    assert_abs_diff_eq!(layout.fitted.width / a.at.distance(b.at), 2f64.sqrt(), epsilon = 1e-12);
    let squares = laid_out(&[
        ("units", "\"in\""),
        ("panel", "[panel.rectangle]\nwidth = 33\nheight = 21"),
        ("pattern", "[pattern.square]\nwidth = 3\nheight = 3\nedge = 3"),
    ]);
    let (bays_across, bays_down) = (squares.fitted.across - 1, squares.fitted.rows - 1);
    assert_eq!((bays_across, bays_down), (9, 5));
    assert_abs_diff_eq!(f64::from(bays_across) * squares.fitted.width, 27.0 * INCH, epsilon = 1e-9);
    assert_abs_diff_eq!(f64::from(bays_down) * squares.fitted.height, 15.0 * INCH, epsilon = 1e-9);
}

/// Source: freshlyastoot.blogspot.com, July 2015 (a maker's write-up): king headboard, rows 10/9/10/9.
#[test]
fn a_makers_king_headboard_closes_exactly() {
    let layout = laid_out(&[
        ("units", "\"in\""),
        ("panel", "[panel.rectangle]\nwidth = 72.5\nheight = 28.75"),
        (
            "pattern",
            "[pattern.diamond]\nacross = 10\nrows = 4\nedge = { sides = 4.75, top = 4, bottom = 3.75 }",
        ),
    ]);
    assert_eq!(rows(&layout), [10, 9, 10, 9]);
    assert_eq!(layout.buttons.len(), 38);
    assert_abs_diff_eq!(layout.fitted.width, 7.0 * INCH, epsilon = 1e-9);
    assert_abs_diff_eq!(layout.fitted.row_gap(), 7.0 * INCH, epsilon = 1e-9);
    let short = layout.buttons.iter().find(|b| b.name.row() == 2).expect("a short row");
    assert_abs_diff_eq!(short.at.x + 72.5 / 2.0 * INCH, 8.25 * INCH, epsilon = 1e-9);
    let last = layout.buttons.last().expect("a last button");
    assert_abs_diff_eq!(last.at.y + 28.75 / 2.0 * INCH, 3.75 * INCH, epsilon = 1e-9);
}

/// Source: "Traditional diamond pattern deep tufting", Upholstery Journal: 42 x 31 in, 4 in border,
/// 4 x 2 diamonds. The row counts are derived from it: 4, 5, 4, 5, 4, with a diamond at the centre.
#[test]
fn four_by_two_diamonds_leave_a_diamond_at_the_centre() {
    let layout = laid_out(&[
        ("units", "\"in\""),
        ("panel", "[panel.rectangle]\nwidth = 42\nheight = 31"),
        ("pattern", "[pattern.diamond]\nacross = 5\nrows = 5\ntop_row = \"short\"\nedge = 4"),
    ]);
    assert_abs_diff_eq!(layout.fitted.width, 215.9, epsilon = 1e-9);
    assert_abs_diff_eq!(layout.fitted.height, 292.1, epsilon = 1e-9);
    assert_eq!(rows(&layout), [4, 5, 4, 5, 4]);
    assert_eq!(layout.buttons.len(), 22);
    // A diamond stands at the centre when its four buttons do, and none in its middle.
    let stands = |at: [i32; 2]| layout.buttons.iter().any(|b| b.lattice == at);
    assert!(
        stands([-1, 0]) && stands([1, 0]) && stands([0, 2]) && stands([0, -2]) && !stands([0, 0])
    );
}

/// Source: upholsterystudio.com, notes on laying out diamonds: 30 x 16 in, diamond 3 x 5 in, 3 in left.
#[test]
fn a_30_by_16_panel_takes_8_diamonds_across_and_2_high() {
    let layout = laid_out(&[
        ("units", "\"in\""),
        ("panel", "[panel.rectangle]\nwidth = 30\nheight = 16"),
        ("pattern", "[pattern.diamond]\nwidth = 3\nheight = 5\nedge = 3"),
    ]);
    assert_eq!(layout.fitted.across - 1, 8);
    assert_eq!((layout.fitted.rows - 1) / 2, 2);
    assert_abs_diff_eq!(layout.fitted.width, 3.0 * INCH, epsilon = 1e-9);
    assert_abs_diff_eq!(layout.fitted.height, 5.0 * INCH, epsilon = 1e-9);
}

/// Source: "Leather Work: small chair, buttoned and welted", fig. 732 (book as for the leather seat):
/// rows 3, 2, 3, 2, none nearer the edge than 3 in.
#[test]
fn a_small_chair_has_ten_buttons_none_within_three_inches_of_the_edge() {
    let layout = laid_out(&[
        ("panel", "[panel.rectangle]\nwidth = \"18 in\"\nheight = \"20 in\""),
        ("pattern", "[pattern.diamond]\nacross = 3\nrows = 4\nedge = \"3 in\""),
    ]);
    assert_eq!(rows(&layout), [3, 2, 3, 2]);
    assert_eq!(layout.buttons.len(), 10);
    assert_abs_diff_eq!(layout.nearest_edge, 76.2, epsilon = 1e-9);
}

/// A practitioner's figure (common practice, no source): 2 in foam, diamond 9 in high by 6 in wide is
/// marked 10 1/4 by 7 1/4 in. Derived bounds: at least 30.8 mm across and 21.6 mm up, so it just reaches.
#[test]
fn a_practitioners_allowance_just_reaches() {
    let layout = laid_out(&[
        ("panel", "[panel.rectangle]\nwidth = \"42 in\"\nheight = \"24 in\""),
        ("foam", "[foam]\nthickness = \"2 in\"\nhole = 30"),
        ("wadding", ""),
        (
            "pattern",
            "[pattern.diamond]\nwidth = \"6 in\"\nheight = \"9 in\"\nfit = \"exact\"\nedge = 80",
        ),
        ("allowance", "[fabric.allowance.measured]\nacross = \"1 1/4 in\"\ndown = \"1 1/4 in\""),
    ]);
    assert_abs_diff_eq!(layout.cover.marked[0], 7.25 * INCH, epsilon = 1e-9);
    assert_abs_diff_eq!(layout.cover.marked[1], 10.25 * INCH, epsilon = 1e-9);
    assert_abs_diff_eq!(layout.cover.bounds[0].least, 30.8, epsilon = 0.05);
    assert_abs_diff_eq!(layout.cover.bounds[1].least, 21.6, epsilon = 0.05);
    assert!(!layout.warnings.iter().any(|w| w.contains("TOO SHORT")), "{:?}", layout.warnings);
}

/// Derived: P 177.8, d 50.8 mm gives 26.98 at the least and 101.6 mm at the most.
#[test]
fn the_bounds_on_the_allowance_are_the_straight_line_and_the_upright_wall() {
    let bounds = Bounds::of(177.8, 50.8);
    assert_abs_diff_eq!(bounds.least, 26.98, epsilon = 0.005);
    assert_abs_diff_eq!(bounds.most, 101.6, epsilon = 1e-9);
}

/// Derived: r 15, p 27 mm gives 31.77 mm (compare the practitioner's 31.75).
#[test]
fn the_allowance_from_the_hole_agrees_with_the_practitioner() {
    assert_abs_diff_eq!(hole_allowance(15.0, 27.0), 31.77, epsilon = 0.005);
}

/// Source: cncshop.eu, calculating feeds and speeds, and Onsrud's chip load charts via woodweb.com: two
/// flutes, 0.1 mm a tooth and 18,000 rpm make a feed of 3600 mm/min.
#[test]
fn the_feed_per_tooth_is_feed_over_speed_and_flutes() {
    let mut machine = machines().remove("bench-router").expect("a demo machine");
    let tool = &mut machine.tools[2];
    (tool.rpm, tool.feed, tool.flutes, tool.feed_per_tooth) =
        (18_000.0, 9_000.0, Some(2), Some([0.0999, 0.1001]));
    machine.motion.rapid = [20_000.0; 3];
    let faults = |feed: u32| {
        let program = format!(
            "(work 800 x 500 x 12 mm)\nG21 G90 G17 G94 G54\nG0 Z30\nT3\nM0\nS18000\nM3\nG4 P3\nG0 X200 Y200\nG0 Z2\n\
             G1 Z-3 F600\nG1 X300 F{feed}\nG0 Z30\nM5\nG0 X0 Y0\nM2\n"
        );
        let setting = Setting { machine: &machine, work: None };
        let rehearsal =
            rehearse(program.as_bytes(), &setting, |_| {}).expect("reading from memory");
        rehearsal.faults.iter().map(|fault| (fault.line, fault.rule.name())).collect::<Vec<_>>()
    };
    let at_the_cut = |feed| faults(feed).contains(&(12, "feed-per-tooth"));
    assert!(!at_the_cut(3600), "{:?}", faults(3600));
    assert!(at_the_cut(3500) && at_the_cut(3700), "{:?}", faults(3700));
}
