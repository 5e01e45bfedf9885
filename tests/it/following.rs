//! Upper rows that follow the outline.

use crate::demo::{job, job_text};
use approx::assert_relative_eq;
use bradawl::layout::{self, Layout};

fn laid_out(panel: &str, more: &str) -> Layout {
    let text = job_text(&[
        ("panel", panel),
        ("pattern", &format!("[pattern.diamond]\nwidth = 120\nheight = 160\nedge = 80\n{more}")),
    ]);
    layout::lay_out(&job(&text)).unwrap_or_else(|wrong| panic!("{wrong:#?}"))
}

const ARCH: &str = "[panel.arch]\nwidth = 1100\nheight = 640\nrise = 160";

#[test]
fn the_top_row_keeps_its_distance_and_the_lowest_is_straight() {
    let bent = laid_out(ARCH, "top = \"following\"");
    let straight = laid_out(ARCH, "");
    assert!(straight.dropped.len() > bent.dropped.len(), "fewer buttons are lost to the arch");
    let rows = bent.fitted.rows;
    for button in &bent.buttons {
        let depth = bent.outline.depth(button.at);
        assert!(depth >= 80.0 - 1e-6);
        // Towards the sides the arch falls more steeply than a row may.
        if button.name.row() == 1 && button.at.x.abs() < 140.0 {
            assert_relative_eq!(depth, 80.0, epsilon = 1e-6);
        }
        let plain = straight
            .buttons
            .iter()
            .chain(&straight.dropped)
            .find(|b| b.name == button.name)
            .expect("there");
        assert_relative_eq!(button.at.x, plain.at.x, epsilon = 1e-9);
        if button.name.row() == rows {
            assert_relative_eq!(button.at.y, plain.at.y, epsilon = 1e-9);
        }
        assert!(button.at.y <= plain.at.y + 1e-9);
    }
}

/// The stated measure, by the angles themselves.
#[test]
fn pleats_turn_as_little_as_is_said() {
    for (more, least) in [("top = \"following\"", 0.5), ("top = \"following\"\nfollow = 3", 1.0)] {
        let bent = laid_out(ARCH, more);
        let at =
            |lattice: [i32; 2]| bent.buttons.iter().find(|b| b.lattice == lattice).map(|b| b.at);
        let straight = [bent.fitted.width / 2.0, bent.fitted.row_gap()];
        let mut most: f64 = 0.0;
        for button in &bent.buttons {
            for side in [1, -1] {
                let Some(next) = at([button.lattice[0] + side, button.lattice[1] - 2]) else {
                    continue;
                };
                let way = [(next.x - button.at.x) * f64::from(side), button.at.y - next.y];
                let turned = libm::atan2(way[1], way[0]) - libm::atan2(straight[1], straight[0]);
                most = most.max(turned.abs().to_degrees());
            }
        }
        // The measure counts places that were dropped as well.
        assert!(most <= bent.turned + 1e-9 && most > least, "{most} is said to be {}", bent.turned);
    }
    assert!(
        laid_out(ARCH, "top = \"following\"\nfollow = 3").turned
            > laid_out(ARCH, "top = \"following\"").turned
    );
    assert_eq!(
        laid_out("[panel.rectangle]\nwidth = 900\nheight = 600", "top = \"following\"").turned,
        0.0
    );
}

/// Over a step no row runs steeper than the diamonds can take.
#[test]
fn a_step_is_climbed_gently() {
    let panel =
        "[panel.shouldered]\nwidth = 1400\nheight = 700\nshoulder_width = 250\nshoulder_drop = 140";
    let bent = laid_out(panel, "top = \"following\"");
    let mut top: Vec<_> = bent.buttons.iter().filter(|b| b.name.row() == 1).map(|b| b.at).collect();
    top.sort_by(|a, b| a.x.total_cmp(&b.x));
    assert!(top.len() > 6);
    for pair in top.windows(2) {
        let steep = (pair[1].y - pair[0].y).abs() / (pair[1].x - pair[0].x);
        assert!(steep <= 0.35 + 1e-9, "{steep}");
    }
    assert!(bent.nearest_edge >= 80.0 - 1e-6);
}

/// A row is not steep enough for every arch; where it is left behind, that is said.
#[test]
fn a_top_row_left_behind_is_told() {
    for (rise, told) in [(40, false), (220, true)] {
        let panel = format!("[panel.arch]\nwidth = 620\nheight = 700\nrise = {rise}");
        let bent = laid_out(&panel, "top = \"following\"");
        let top = bent.buttons.iter().filter(|b| b.lattice[1] == bent.fitted.rows as i32 - 1);
        let farthest = top.map(|b| bent.outline.depth(b.at)).fold(0.0, f64::max);
        let says = format!("The top row stands up to {farthest:.1} mm");
        let found = bent.warnings.iter().any(|warning| warning.starts_with(&says));
        assert_eq!(found, told, "{rise}: {says}; {:?}", bent.warnings);
        assert_eq!(farthest > 105.0, told, "{rise}");
    }
}
