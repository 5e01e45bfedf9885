//! Fans that go all the way round.

use crate::patterns::{ROUND, WIDE, laid_out};
use approx::assert_relative_eq;
use bradawl::{
    frame::{Point, Sheet},
    layout::{Layout, LineKind},
};

/// A fan all the way round, of eight buttons in each of three rows.
fn round(panel: &str, more: &str) -> Layout {
    let pattern =
        format!("[pattern.fan]\nsweep = 360\nrays = 8\nrows = 3\ninner = 100\nedge = 80\n{more}");
    laid_out(&[("panel", panel), ("pattern", &pattern), ("fabric", WIDE)])
}

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
    let middle = Point::new(piece.cut[0] / 2.0, piece.cut[1] / 2.0);
    let lines = piece.lines.iter().filter(|line| line.kind == kind);
    let all: Vec<f64> =
        lines.flat_map(|line| line.points.iter().map(|at| at.distance(middle))).collect();
    assert!(!all.is_empty(), "there is such a line");
    [all.iter().copied().fold(f64::INFINITY, f64::min), all.iter().copied().fold(0.0, f64::max)]
}

/// The cover there is as much longer in every direction.
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
        let turned = |at: &Point<Sheet>| {
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
        assert!(worst < 0.3, "{worst} off");
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
