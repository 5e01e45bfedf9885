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

fn laid_out(changes: &[(&str, &str)]) -> Layout {
    layout::lay_out(&job(&job_text(changes))).unwrap_or_else(|wrong| panic!("{wrong:#?}"))
}

/// A half round about the middle of its lower edge, which is the fan's centre.
const HALF_ROUND: &str = "[panel.arch]\nwidth = 800\nheight = 400\nrise = 400";
const WIDE: &str = "[fabric]\nroll_width = 2000\nturn_in = 75";

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

/// A fan all the way round, of eight buttons in each of three rows.
fn round(panel: &str, more: &str) -> Layout {
    let pattern =
        format!("[pattern.fan]\nsweep = 360\nrays = 8\nrows = 3\ninner = 100\nedge = 80\n{more}");
    laid_out(&[("panel", panel), ("pattern", &pattern), ("fabric", WIDE)])
}

const ROUND: &str = "[panel.ellipse]\nwidth = 700\nheight = 700";

#[test]
fn a_fan_all_the_way_round_closes() {
    let found = round(ROUND, "centre_button = true");
    assert_eq!(found.buttons.len(), 25);
    let rays = found.fitted.fan.expect("a fan");
    for button in &found.buttons {
        let out = libm::hypot(button.at.x, button.at.y);
        match button.name.row() {
            4 => assert_relative_eq!(out, 0.0, epsilon = 1e-9),
            row => assert_relative_eq!(out, 270.0 - f64::from(row - 1) * rays.gap, epsilon = 1e-5),
        }
    }
    // From the top, clockwise; the second row stands half a step on.
    let turn = |i: usize| {
        let at = found.buttons[i].at;
        libm::atan2(at.x, at.y).to_degrees().rem_euclid(360.0)
    };
    for (i, wanted) in [(0, 0.0), (1, 45.0), (7, 315.0), (8, 22.5), (15, 337.5), (16, 0.0)] {
        assert_relative_eq!(turn(i), wanted, epsilon = 1e-6);
    }
    // Two pleats from each button to the row within, one from each of the innermost to the centre.
    let pleats = found.pleats();
    assert_eq!(pleats.len(), 2 * 8 * 2 + 8);
    for (i, button) in found.buttons.iter().enumerate() {
        let of_it = pleats.iter().filter(|pleat| pleat.contains(&i)).count();
        let wanted = [2, 4, 3, 8][button.name.row() as usize - 1];
        assert_eq!(of_it, wanted, "{}", button.name);
    }
    assert_eq!(round(ROUND, "").pleats().len(), 2 * 8 * 2);
    // Edge pleats leave the outer row alone, straight outwards.
    assert_eq!(found.edge_pleats.len(), 8);
    for pleat in &found.edge_pleats {
        let from = found.buttons[pleat.button].at;
        let [x, y] = pleat.foot.at;
        assert_relative_eq!(libm::hypot(x, y), 350.0, epsilon = 0.01);
        assert_relative_eq!(libm::atan2(x, y), libm::atan2(from.x, from.y), epsilon = 1e-4);
    }
}

/// From button to button of the innermost row the cloth is longer by A, on every ray by B/2 to a row; so every further
/// row gets B·sin(half a column) more across than the one inside it, and nothing is strained.
#[test]
fn the_cover_of_a_round_closes() {
    let found = round(ROUND, "centre_button = true");
    assert!(found.cover.strained.is_empty());
    let marks = &found.cover.pieces[0].marks;
    let (_, centre) = marks.iter().find(|(name, _)| name.row() == 4).expect("the centre");
    let chord = 2.0 * libm::sin(std::f64::consts::PI / 8.0);
    for row in 1..=3_u32 {
        let in_row: Vec<_> = marks.iter().filter(|(name, _)| name.row() == row).collect();
        let on_panel = 270.0 - f64::from(row - 1) * 85.0;
        let steps_out = f64::from(3 - row);
        let on_cloth = on_panel + 60.0 / chord + steps_out * 45.0 / 2.0;
        for (i, (name, at)) in in_row.iter().enumerate() {
            assert_relative_eq!(at.distance(*centre), on_cloth, epsilon = 1e-5);
            let (_, next) = in_row[(i + 1) % 8];
            let longer = at.distance(*next) - on_panel * chord;
            assert_relative_eq!(longer, 60.0 + steps_out * 45.0 / 2.0 * chord, epsilon = 1e-5);
            let told = found.cover.per_row.across[name.row() as usize - 1];
            assert_relative_eq!(longer, told, epsilon = 1e-5);
        }
    }
    // Round outside the outer row half a pleat and the edge, the sides of the layers, and the turn-in.
    let sides = 50.0 + 8.0 + 12.0;
    let half = 270.0 + 60.0 / chord + 45.0 + 45.0 / 2.0 + 80.0 + sides + 75.0;
    assert_relative_eq!(found.cover.cut[0], 2.0 * half, epsilon = 0.05);
    assert_relative_eq!(found.cover.cut[1], 2.0 * half, epsilon = 0.05);
    for line in found.cover.pieces[0].lines.iter().filter(|line| line.kind == LineKind::Trim) {
        for at in &line.points {
            assert_relative_eq!(at.distance(*centre), half, epsilon = 0.3);
        }
    }
}

/// Whatever the outline, and wherever in it the centre: every ray gets its own cloth.
#[test]
fn a_round_follows_an_outline_that_is_not_round() {
    let oval = "[panel.ellipse]\nwidth = 800\nheight = 640";
    let found = round(oval, "centre = [30, -20]");
    assert_eq!(found.dropped.len(), 0);
    let marks = &found.cover.pieces[0].marks;
    let mark = |name| marks.iter().find(|(other, _)| *other == name).expect("it is marked").1;
    let outer = found.buttons.iter().filter(|button| button.name.row() == 1);
    for button in outer {
        assert_relative_eq!(found.outline.depth(button.at), 80.0, epsilon = 1e-4);
        let within = found
            .buttons
            .iter()
            .find(|b| b.name.row() == 3 && b.name.column() == button.name.column())
            .expect("the same ray");
        let longer = mark(button.name).distance(mark(within.name)) - button.at.distance(within.at);
        assert_relative_eq!(longer, 45.0, epsilon = 1e-5);
    }
}

fn has_warning(found: &Layout, part: &str) -> bool {
    found.warnings.iter().any(|warning| warning.contains(part))
}

/// The least and the greatest distance of a line from the middle of the cover.
fn distances(found: &Layout, kind: LineKind) -> [f64; 2] {
    let piece = &found.cover.pieces[0];
    let middle = bradawl::frame::Point::new(piece.cut[0] / 2.0, piece.cut[1] / 2.0);
    let lines = piece.lines.iter().filter(|line| line.kind == kind);
    let all: Vec<f64> =
        lines.flat_map(|line| line.points.iter().map(|at| at.distance(middle))).collect();
    assert!(!all.is_empty(), "there is such a line");
    [all.iter().copied().fold(f64::INFINITY, f64::min), all.iter().copied().fold(0.0, f64::max)]
}

/// Inside the innermost row the cover is as much longer in every direction: a round opening stays round.
#[test]
fn an_opening_in_the_middle_of_a_round_stays_round() {
    let opening =
        "[[opening]]\nreason = \"pipe\"\nat = [0, 0]\ndiameter = 120\nbuttons = \"drop\"\n\n";
    let pattern = "[pattern.fan]\nsweep = 360\nrays = 8\nrows = 2\ninner = 140\nedge = 80";
    let found = laid_out(&[
        ("panel", ROUND),
        ("pattern", &format!("{pattern}\n\n{opening}")),
        ("fabric", WIDE),
    ]);
    let chord = 2.0 * libm::sin(std::f64::consts::PI / 8.0);
    let wanted = 60.0 * (1.0 + 60.0 / chord / 140.0);
    let [least, most] = distances(&found, LineKind::Opening);
    assert!(most - least < 0.6, "{least} to {most}");
    assert_relative_eq!(most, wanted, epsilon = 0.6);
}

/// Stretch is taken off the whole cover: its edge is the round one, made narrower.
#[test]
fn a_round_of_cloth_that_stretches_is_an_oval() {
    let plain = round(ROUND, "");
    let pattern = "[pattern.fan]\nsweep = 360\nrays = 8\nrows = 3\ninner = 100\nedge = 80";
    let stretches = laid_out(&[
        ("panel", ROUND),
        ("pattern", pattern),
        (
            "fabric",
            "[fabric]\nroll_width = 2000\nturn_in = 75\n\n[fabric.stretch]\nacross = 25\ndown = 25",
        ),
    ]);
    // The sides of the layers do not stretch.
    let outside = 50.0 + 8.0 + 12.0;
    let [least, most] = distances(&plain, LineKind::TurnIn);
    let narrower = distances(&stretches, LineKind::TurnIn);
    for (found, plain) in narrower.into_iter().zip([least, most]) {
        assert_relative_eq!(found, (plain - outside) / 1.25 + outside, epsilon = 0.3);
    }
}

/// On a square panel the four sides of the cover are alike, corners too.
#[test]
fn a_round_on_a_square_panel_is_alike_on_all_sides() {
    for radius in ["", "\nradius = 30"] {
        let panel = format!("[panel.rectangle]\nwidth = 640\nheight = 640{radius}");
        let found = round(&panel, "centre_button = true");
        let piece = &found.cover.pieces[0];
        assert_relative_eq!(piece.cut[0], piece.cut[1], epsilon = 1e-6);
        let half = piece.cut[0] / 2.0;
        // In the middle of a side as much farther out as round a panel of that width.
        let chord = 2.0 * libm::sin(std::f64::consts::PI / 8.0);
        let moved = 60.0 / chord + 45.0 + 45.0 / 2.0;
        assert_relative_eq!(half, 320.0 + moved + 70.0 + 75.0, epsilon = 0.05);
        let line = piece.lines.iter().find(|line| line.kind == LineKind::TurnIn).expect("it is");
        let turned = |at: &bradawl::frame::Point<bradawl::frame::Sheet>| {
            let [x, y] = [at.x - half, at.y - half];
            let near = line.points.windows(2).map(|pair| {
                let [a, b] = [&pair[0], &pair[1]].map(|p| [p.x - half, p.y - half]);
                let way = [b[0] - a[0], b[1] - a[1]];
                let length = way[0] * way[0] + way[1] * way[1];
                // The same place, a quarter on.
                let to = [-y - a[0], x - a[1]];
                let along = ((to[0] * way[0] + to[1] * way[1]) / length).clamp(0.0, 1.0);
                libm::hypot(to[0] - along * way[0], to[1] - along * way[1])
            });
            near.fold(f64::INFINITY, f64::min)
        };
        let worst = line.points.iter().map(turned).fold(0.0, f64::max);
        assert!(worst < 0.3, "{worst} off after a quarter turn");
    }
}

/// Too short and too loose, each where it is; a centre button that gave way is not reckoned with.
#[test]
fn a_round_is_warned_of_where_it_is_too_short_or_too_loose() {
    let fan = |rays: u32, inner: u32, across: u32, more: &str| {
        let pattern = format!(
            "[pattern.fan]\nsweep = 360\nrays = {rays}\nrows = 3\ninner = {inner}\nedge = 80\n{more}"
        );
        let allowance = format!("[fabric.allowance.measured]\nacross = {across}\ndown = 45");
        laid_out(&[
            ("panel", ROUND),
            ("pattern", &pattern),
            ("fabric", WIDE),
            ("allowance", &allowance),
        ])
    };
    // Buttons 76.5 mm apart, pulled 58 mm down: 2·sqrt(38.27² + 58²) - 76.54 = 62.4 mm.
    let short = fan(8, 100, 60, "");
    assert!(has_warning(&short, "From 3-1 to 3-2 the cover is 60.0 mm longer across"));
    assert!(has_warning(&short, "at least 62.4 mm"));
    assert!(!has_warning(&fan(8, 100, 63, "centre_button = true"), "TOO SHORT"));
    // 63 / (2·sin 22.5°) = 82.3 mm on every ray, both sides of the middle; 116 mm is all.
    assert!(has_warning(
        &fan(8, 100, 63, ""),
        "Across the middle, inside the innermost row, the cover is 164.6"
    ));
    assert!(has_warning(
        &fan(12, 100, 80, "centre_button = true"),
        "From the centre to the innermost row the cover is 154.5"
    ));
    // 40 / (2·sin 60°) = 23.1 mm from the centre, 110 mm away: 2·sqrt(55² + 58²) - 110 = 49.9 mm.
    assert!(has_warning(
        &fan(3, 110, 40, "centre_button = true"),
        "From the centre to the innermost row the cover is 23.1"
    ));
    let keep_out = "centre_button = true\n\n[[keep_out]]\nreason = \"leg\"\nat = [0, 0]\ndiameter = 60\nbuttons = \"drop\"";
    let dropped = fan(3, 110, 40, keep_out);
    assert!(has_warning(&dropped, "Left out for the leg: 4-1"));
    assert!(!dropped.has_centre_button());
    assert!(!has_warning(&dropped, "From the centre"));
    // 100 + 2 rows of 45/2 · 2·sin 22.5° in the outer row.
    assert!(has_warning(
        &fan(8, 100, 100, "centre_button = true"),
        "The cover is up to 134.4 mm longer across"
    ));
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
