//! Patterns that are no level grid: fans, flutes, buttons at places of their own.

use crate::{
    demo::{job, job_text, made},
    messages::job_message,
};
use approx::assert_relative_eq;
use bradawl::{
    layout::{self, Layout, LineKind, Neighbours},
    plan::{Step, um},
    program,
    verify::{Part, across},
};

pub fn laid_out(changes: &[(&str, &str)]) -> Layout {
    layout::lay_out(&job(&job_text(changes))).unwrap_or_else(|wrong| panic!("{wrong:#?}"))
}

/// A half round about the middle of its lower edge, which is the fan's centre.
const HALF_ROUND: &str = "[panel.arch]\nwidth = 800\nheight = 400\nrise = 400";
pub const ROUND: &str = "[panel.ellipse]\nwidth = 700\nheight = 700";
pub const WIDE: &str = "[fabric]\nroll_width = 2000\nturn_in = 75";

fn fan(more: &str) -> Layout {
    let pattern = format!("[pattern.fan]\nrays = 6\nrows = 4\ninner = 140\nedge = 80\n{more}");
    laid_out(&[("panel", HALF_ROUND), ("pattern", &pattern), ("fabric", WIDE)])
}

#[test]
fn a_fan_on_a_half_round_is_the_polar_grid() {
    let found = fan("");
    let rays = found.fitted.fan.expect("a fan");
    assert_eq!(found.dropped.len(), 0, "the sweep is as wide as every button keeps its edge");
    assert_relative_eq!(rays.gap, (320.0 - 140.0) / 3.0, epsilon = 1e-6);
    for button in &found.buttons {
        let [x, y] = [button.at.x - rays.centre[0], button.at.y - rays.centre[1]];
        let (out, angle) = ((x * x + y * y).sqrt(), libm::atan2(x, y));
        let row = f64::from(button.name.row());
        assert_relative_eq!(out, 320.0 - (row - 1.0) * rays.gap, epsilon = 1e-5);
        assert_relative_eq!(
            angle,
            f64::from(button.lattice[0]) / 2.0 * rays.column,
            epsilon = 1e-9
        );
        assert!(found.outline.depth(button.at) >= 80.0 - 1e-5);
    }
    // One step wider and the outermost button of an inner row comes too near the lower edge.
    let lowest = found.buttons.iter().map(|b| b.at.y + 200.0).fold(f64::INFINITY, f64::min);
    assert!((80.0..81.5).contains(&lowest), "{lowest}");
}

/// Round the row of radius r the cover has r·θ + A to a column, from row to row g + B/2; such cloth is a fan of the
/// angle θ·g/(g + B/2) and lies flat.
#[test]
fn the_cover_of_a_fan_is_a_narrower_fan_without_strain() {
    let found = fan("sweep = 120");
    let rays = found.fitted.fan.expect("a fan");
    let worst = found.cover.strained.first().map_or(0.0, |worst| worst.per_cent().abs());
    assert!(worst < 0.25, "chords for arcs, no more: {worst} %");
    let marks = &found.cover.pieces[0].marks;
    let gap = rays.gap + 45.0 / 2.0;
    let angle = rays.column * rays.gap / gap;
    for row in [1, 3] {
        let in_row: Vec<_> = marks.iter().filter(|(name, _)| name.row() == row).collect();
        let radius = 320.0 - f64::from(row - 1) * rays.gap;
        let wanted = 2.0 * (radius * rays.column + 60.0) / angle * libm::sin(angle / 2.0);
        for pair in in_row.windows(2) {
            assert_relative_eq!(pair[0].1.distance(pair[1].1), wanted, max_relative = 3e-3);
        }
    }
}

#[test]
fn a_fan_follows_an_outline_that_is_not_round() {
    let found = laid_out(&[
        ("panel", "[panel.ellipse]\nwidth = 900\nheight = 620"),
        (
            "pattern",
            "[pattern.fan]\nrays = 7\nrows = 4\ninner = 150\ncentre = [0, -220]\nsweep = 100\nedge = 80",
        ),
        ("fabric", "[fabric]\nroll_width = 2400\nturn_in = 75\nease = 6"),
    ]);
    let outer = found.buttons.iter().filter(|button| button.name.row() == 1);
    for button in outer {
        assert_relative_eq!(found.outline.depth(button.at), 80.0, epsilon = 1e-5);
    }
    let choices = layout::choices(
        &job(&job_text(&[
            ("panel", HALF_ROUND),
            ("pattern", "[pattern.fan]\nrays = 6\nrows = 4\ninner = 140\nedge = 80"),
        ])),
        &fan("").outline,
        &fan("").fitted,
        9,
    );
    assert_eq!(choices.len(), 9);
    assert_eq!((choices[0].fitted.across, choices[0].fitted.rows), (6, 4), "itself is the nearest");
}

/// The other hand of a fan is its mirror image.
#[test]
fn a_fan_has_two_hands() {
    let text = job_text(&[
        ("title", "\"Pair\"\nhand = \"pair\""),
        ("panel", "[panel.ellipse]\nwidth = 900\nheight = 620"),
        (
            "pattern",
            "[pattern.fan]\nrays = 6\nrows = 3\ninner = 150\ncentre = [40, -200]\nsweep = 80\nedge = 80",
        ),
        ("fabric", "[fabric]\nroll_width = 2400\nturn_in = 75\nease = 6"),
    ]);
    let hands = job(&text).hands();
    let places = |i: usize| -> Vec<[f64; 2]> {
        let layout = layout::lay_out(&hands[i]).unwrap_or_else(|wrong| panic!("{wrong:#?}"));
        layout.buttons.iter().map(|b| [b.at.x, b.at.y]).collect()
    };
    let (left, right) = (places(0), places(1));
    assert_eq!(left.len(), right.len());
    for [x, y] in left {
        let there = |p: &&[f64; 2]| (p[0] + x).abs() < 1e-5 && (p[1] - y).abs() < 1e-5;
        assert!(right.iter().find(there).is_some(), "{x}, {y} has no twin");
    }
}

/// A groove does not turn to meet a curved edge at a right angle, as a pleat does, and none is lost to its neighbour.
#[test]
fn grooves_run_straight_to_the_edge_under_an_arch() {
    let found = laid_out(&[
        ("panel", "[panel.arch]\nwidth = 720\nheight = 500\nrise = 180"),
        ("foam", "[foam]\nthickness = 40\nhole = 20\nwork = \"mark\""),
        ("pattern", "[pattern.flutes]\nacross = 12\nties = 3\nedge = 60"),
        ("allowance", "[fabric.allowance.measured]\nacross = 30\ndown = 0"),
    ]);
    let arch: f64 = 180.0 / 2.0 + 720.0 * 720.0 / (8.0 * 180.0);
    let mut ends = std::collections::BTreeMap::<i32, Vec<f64>>::new();
    for pleat in &found.edge_pleats {
        let button = &found.buttons[pleat.button];
        let [x, y] = pleat.foot.at;
        assert_relative_eq!(x, button.at.x, epsilon = 1e-9);
        let top = (arch * arch - x * x).sqrt() + 250.0 - arch;
        assert_relative_eq!(y, if y > 0.0 { top } else { -250.0 }, epsilon = 1e-6);
        ends.entry(button.lattice[0]).or_default().push(y);
    }
    assert_eq!(ends.len(), 13);
    assert!(ends.values().all(|both| both.len() == 2 && both[0] * both[1] < 0.0), "{ends:?}");
}

/// Under an arch the top tie of each groove keeps its distance from the edge, and on the cloth it lies as far down.
#[test]
fn ties_under_an_arch_are_moved_down_their_grooves() {
    let found = laid_out(&[
        ("panel", "[panel.arch]\nwidth = 1400\nheight = 600\nrise = 180"),
        ("foam", "[foam]\nthickness = 40\nhole = 20\nwork = \"mark\""),
        ("pattern", "[pattern.flutes]\nacross = 12\nties = 3\nedge = 70"),
        ("fabric", "[fabric]\nroll_width = 3000\nturn_in = 75\nstretch = { across = 2, down = 1 }"),
        ("allowance", "[fabric.allowance.measured]\nacross = 30\ndown = 0"),
    ]);
    let columns = 13;
    assert_eq!(found.buttons.len() + found.dropped.len(), columns * 3);
    assert!(!found.slid.is_empty());
    for name in &found.slid {
        let tie = found.buttons.iter().find(|b| b.name == *name).expect("it is made");
        assert_relative_eq!(found.outline.depth(tie.at), 70.0, epsilon = 1e-5);
    }
    // Only where it would come nearer to the next than half the way a tie is left out.
    assert_eq!(
        found.dropped.iter().map(|b| b.name.to_string()).collect::<Vec<_>>(),
        ["1-1", "1-13"]
    );
    for column in (-12..=12).step_by(2) {
        let of_it: Vec<_> = found.buttons.iter().filter(|b| b.lattice[0] == column).collect();
        assert!(of_it.len() >= 2, "{column}");
        for pair in of_it.windows(2) {
            assert!(pair[0].at.y - pair[1].at.y >= found.fitted.row_gap() / 2.0 - 1e-6);
        }
    }
    // The cloth gives every tie what it wants, exactly.
    assert!(found.cover.strained.is_empty(), "{:?}", found.cover.strained);
    let piece = &found.cover.pieces[0];
    let on_cloth = |name| piece.marks.iter().find(|(n, _)| *n == name).expect("marked").1;
    let (a, b) = (&found.buttons[0], found.buttons.last().expect("many"));
    for tie in &found.buttons {
        let panel = tie.at.y - b.at.y;
        assert_relative_eq!(
            on_cloth(tie.name).y - on_cloth(b.name).y,
            panel / 1.01,
            epsilon = 1e-6
        );
    }
    assert!(on_cloth(a.name).y > on_cloth(b.name).y);
    assert!(found.warnings.iter().any(|w| w.starts_with("Ties moved along their groove")));
}

/// A tie in the middle of its groove goes whichever way is nearer, and grooves that are not held are told of.
#[test]
fn ties_beside_a_notch_go_the_nearer_way_and_bare_grooves_are_said() {
    let flutes = |panel: &str| {
        laid_out(&[
            ("panel", panel),
            ("foam", "[foam]\nthickness = 40\nhole = 20\nwork = \"mark\""),
            ("pattern", "[pattern.flutes]\nacross = 8\nties = 3\nedge = 76"),
            ("allowance", "[fabric.allowance.measured]\nacross = 52\ndown = 0"),
        ])
    };
    let notch =
        [[0, 0], [720, 0], [720, 460], [420, 460], [420, 300], [300, 300], [300, 460], [0, 460]];
    let names = |found: &Layout| found.slid.iter().map(|n| n.to_string()).collect::<Vec<_>>();
    let up = flutes(&format!("[panel.polygon]\npoints = {notch:?}"));
    let down = flutes(&format!("[panel.polygon]\npoints = {:?}", notch.map(|[x, y]| [x, 460 - y])));
    assert_eq!(names(&up), ["2-4", "2-5", "2-6"]);
    assert_eq!(names(&down), ["2-4", "2-5", "2-6"]);
    let ellipse = flutes("[panel.ellipse]\nwidth = 900\nheight = 500");
    let bare = ellipse.warnings.iter().find(|w| w.starts_with("Grooves with no tie"));
    assert!(bare.is_some_and(|says| says.contains("1, 9")), "{:?}", ellipse.warnings);
}

#[test]
fn flutes_are_marked_in_one_direction() {
    let text = job_text(&[
        ("foam", "[foam]\nthickness = 40\nhole = 20\nwork = \"mark\""),
        ("pattern", "[pattern.flutes]\nacross = 6\nties = 4\nedge = 80"),
        ("allowance", "[fabric.allowance.measured]\nacross = 52\ndown = 0"),
        ("on", "[on]\nboard = \"bench-router\"\nfoam = \"trim-router\"\nfabric = \"roll-plotter\""),
    ]);
    let made = made(&job(&text));
    let found = &made.layout;
    assert_relative_eq!(found.fitted.width, (720.0 - 160.0) / 6.0);
    assert_eq!(found.buttons.len(), 7 * 4);
    let piece = &found.cover.pieces[0];
    let grooves: Vec<_> = piece.lines.iter().filter(|line| line.kind == LineKind::Pleat).collect();
    assert_eq!(grooves.len(), 7, "one line for each groove, none across");
    for groove in &grooves {
        let [from, to] = [groove.points[0], groove.points[groove.points.len() - 1]];
        assert_relative_eq!(from.x, to.x, epsilon = 1e-9);
        assert_relative_eq!((from.y - to.y).abs(), 480.0 - 160.0, epsilon = 1e-9);
    }
    let row: Vec<_> = piece.marks.iter().filter(|(name, _)| name.row() == 1).collect();
    for pair in row.windows(2) {
        assert_relative_eq!((pair[0].1.x - pair[1].1.x).abs(), 560.0 / 6.0 + 52.0, epsilon = 1e-9);
    }
    // The foam is marked along each groove.
    assert_eq!(found.foam.grooves.len(), 7);
    let strokes = |file: &str| {
        let program = made.programs.iter().find(|p| p.file == file).expect("made");
        program.verified.rehearsal().strokes
    };
    assert!(strokes("foam.nc") >= 7);
    // From the end of a groove to elsewhere is no groove.
    let program = made.programs.iter().find(|p| p.file == "foam.nc").expect("made");
    let unwanted = |from: [i64; 2], to: [i64; 2]| {
        let mut plan = program.plan.clone();
        plan.steps.push(Step::Stroke { points: vec![from, to] });
        let other = program::prove("Trial", plan, &program.machine).expect("sound by itself");
        let (plan, machine, verified) = (&other.plan, &other.machine, &other.verified);
        across(&found.foam, &[Part { plan, machine, verified }]).is_err()
    };
    let (plan, machine, verified) = (&program.plan, &program.machine, &program.verified);
    assert_eq!(across(&found.foam, &[Part { plan, machine, verified }]), Ok(()));
    let lay = program.plan.setup.lay;
    for ends in &found.foam.grooves {
        let [a, b] = ends.map(|end| lay.place([um(end.x), um(end.y)]));
        let aside = [(a[0] + b[0]) / 2 + 40_000, (a[1] + b[1]) / 2];
        for (from, to) in [(a, aside), (aside, a), (b, aside), (aside, b)] {
            assert!(unwanted(from, to), "{from:?} {to:?}");
        }
    }
}

/// The relative neighbours of an even grid are those that its pattern joins by pleats.
#[test]
fn neighbours_in_even_grids_are_the_grids_own() {
    let square: Vec<[f64; 2]> = (0..4)
        .flat_map(|i| (0..3).map(move |j| [f64::from(i) * 100.0, f64::from(j) * 100.0]))
        .collect();
    let found = Neighbours::of(&square);
    assert_eq!(found.pleats.len(), 3 * 3 + 4 * 2, "no diagonals");
    let diamond: Vec<[f64; 2]> = (0..4)
        .flat_map(|row: i32| {
            (0..4 - row % 2)
                .map(move |i| [f64::from(2 * i + row % 2) * 60.0, f64::from(row) * 85.0])
        })
        .collect();
    let found = Neighbours::of(&diamond);
    assert_eq!(found.pleats.len(), 3 * 6, "every short row's button has four");
    for [a, b] in found.pleats {
        let way = [diamond[a][0] - diamond[b][0], diamond[a][1] - diamond[b][1]];
        assert_relative_eq!(way[0].abs(), 60.0);
        assert_relative_eq!(way[1].abs(), 85.0);
    }
}

/// A square grid written button by button is marked like the pattern.
#[test]
fn single_buttons_in_a_grid_are_marked_like_the_pattern() {
    let pattern = laid_out(&[("pattern", "[pattern.square]\nacross = 4\nrows = 3\nedge = 90")]);
    let places: Vec<String> =
        pattern.buttons.iter().map(|b| format!("[{}, {}]", b.at.x, b.at.y)).collect();
    let singles =
        laid_out(&[("pattern", &format!("[pattern.buttons]\nat = [{}]", places.join(", ")))]);
    assert!(singles.cover.strained.is_empty(), "{:?}", singles.cover.strained);
    let at = |layout: &Layout| -> Vec<[f64; 2]> {
        layout.cover.pieces[0].marks.iter().map(|(_, at)| [at.x, at.y]).collect()
    };
    let (a, b) = (at(&pattern), at(&singles));
    assert_eq!(a.len(), b.len());
    for (i, j) in (0..a.len()).flat_map(|i| (0..i).map(move |j| (i, j))) {
        let apart = |p: &[[f64; 2]]| {
            let [x, y] = [p[i][0] - p[j][0], p[i][1] - p[j][1]];
            (x * x + y * y).sqrt()
        };
        assert_relative_eq!(apart(&a), apart(&b), epsilon = 1e-6);
    }
}

#[test]
fn single_buttons_are_made_and_called_by_their_names() {
    let text = job_text(&[
        (
            "pattern",
            "[pattern.buttons]\nat = [[-200, 60], [200, 60], [0, 0], [-180, -70], [190, -80]]\nnames = [\"NW\", \"NE\", \"M\", \"SW\", \"SE\"]\nedge = 80",
        ),
        ("fabric", "[fabric]\nroll_width = 1400\nturn_in = 75\nease = 15"),
    ]);
    let made = made(&job(&text));
    let report = String::from_utf8(made.files["report.json"].clone()).expect("text");
    for name in ["NW", "NE", "M", "SW", "SE"] {
        assert!(report.contains(&format!("\"name\": \"{name}\"")), "{name}");
    }
    let board = &made.programs[0];
    assert_eq!(board.plan.holes(), 5);
}

macro_rules! messages {
    ($($name:ident: $text:expr;)*) => {$(
        #[test]
        fn $name() {
            insta::assert_snapshot!(stringify!($name), job_message(&$text));
        }
    )*};
}

messages! {
    a_fan_without_room: job_text(&[("pattern", "[pattern.fan]\nrays = 6\nrows = 4\ninner = 410\nedge = 80")]);
    a_fan_about_a_place_above: job_text(&[("pattern", "[pattern.fan]\nrays = 6\nrows = 4\ninner = 100\ncentre = [0, 300]\nedge = 80")]);
    a_fan_that_closes: job_text(&[("pattern", "[pattern.fan]\nrays = 6\nrows = 4\ninner = 100\nsweep = 350\nedge = 80")]);
    a_fan_of_too_many_buttons: job_text(&[("pattern", "[pattern.fan]\nrays = 20000\nrows = 100\ninner = 100\nedge = 80")]);
    a_fan_on_cloth_that_repeats: job_text(&[("panel", ROUND), ("pattern", "[pattern.fan]\nsweep = 360\nrays = 6\nrows = 3\ninner = 100\nedge = 80"), ("fabric", "[fabric]\nroll_width = 2000\nturn_in = 75\n\n[fabric.repeat]\nacross = 120\ndown = 120")]);
    a_round_whose_innermost_row_is_not_reached: job_text(&[("panel", ROUND), ("pattern", "[pattern.fan]\nsweep = 360\nrays = 12\nrows = 3\ninner = 80\nedge = 80"), ("allowance", "[fabric.allowance.depth]\nfactor = 1")]);
    a_round_with_the_inner_row_outside: job_text(&[("panel", ROUND), ("pattern", "[pattern.fan]\nsweep = 360\nrays = 6\nrows = 3\ninner = 300\nedge = 80")]);
    a_round_of_two_rays: job_text(&[("pattern", "[pattern.fan]\nsweep = 360\nrays = 2\nrows = 3\ninner = 100\nedge = 80")]);
    a_centre_button_of_an_open_fan: job_text(&[("pattern", "[pattern.fan]\nrays = 6\nrows = 3\ninner = 100\ncentre_button = true\nedge = 80")]);
    a_round_without_room: job_text(&[("pattern", "[pattern.fan]\nsweep = 360\nrays = 6\nrows = 3\ninner = 100\ncentre = [500, 0]\nedge = 80")]);
    a_round_about_a_place_outside: job_text(&[("pattern", "[pattern.fan]\nsweep = 360\nrays = 6\nrows = 3\ninner = 100\ncentre = [0, 900]\nedge = 80")]);
    a_round_with_a_list_across: job_text(&[("panel", ROUND), ("pattern", "[pattern.fan]\nsweep = 360\nrays = 6\nrows = 3\ninner = 100\nedge = 80"), ("allowance", "[fabric.allowance.measured]\nacross = [60, 50, 40]\ndown = 45")]);
    a_fan_swept_too_wide: job_text(&[("pattern", "[pattern.fan]\nrays = 6\nrows = 4\ninner = 200\nsweep = 200\nedge = 80")]);
    a_fan_too_near_its_edge: job_text(&[("pattern", "[pattern.fan]\nrays = 2\nrows = 2\ninner = 20\nedge = 80")]);
    a_fan_wider_than_the_roll: job_text(&[("pattern", "[pattern.fan]\nrays = 6\nrows = 3\ninner = 160\nedge = 80"), ("fabric", "[fabric]\nroll_width = 900\nturn_in = 75")]);
    flutes_in_drilled_foam: job_text(&[("pattern", "[pattern.flutes]\nacross = 6\nedge = 80")]);
    flutes_longer_than_the_panel: job_text(&[("pattern", "[pattern.flutes]\nacross = 6\nedge = 80"), ("foam", "[foam]\nthickness = 40\nhole = 20\nwork = \"mark\"")]);
    single_buttons_out_of_place: job_text(&[("pattern", "[pattern.buttons]\nat = [[0, 0], [0, 0.5], [400, 0], [300, 0]]\nnames = [\"a\", \"b\", \"c\", \"the fourth\"]\nedge = 80")]);
    single_buttons_misnamed: job_text(&[("pattern", "[pattern.buttons]\nat = [[0, 0], [0, 90]]\nnames = [\"a\", \"b\", \"c\"]")]);
    single_buttons_named_alike: job_text(&[("pattern", "[pattern.buttons]\nat = [[0, 0], [0, 90]]\nnames = [\"a\", \"a\"]")]);
    no_single_button: job_text(&[("pattern", "[pattern.buttons]\nat = []")]);
    single_buttons_that_cannot_lie_flat: job_text(&[("pattern", "[pattern.buttons]\nat = [[-200, 60], [200, 60], [0, 0], [-180, -70], [190, -80], [20, 90]]"), ("fabric", "[fabric]\nroll_width = 1400\nturn_in = 75\nease = 0.2")]);
}
