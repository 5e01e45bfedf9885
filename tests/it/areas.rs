//! Openings and keep-outs: which buttons give way, and how far.

use crate::demo::{job, job_text, made};
use approx::assert_relative_eq;
use bradawl::{
    layout::{self, Layout},
    outline,
};

/// The trial panel has a button at its very middle, 3-3 of rows 5, 4, 5, 4, … on a 720 x 480 board.
fn with(areas: &str) -> String {
    job_text(&[
        ("pattern", "[pattern.diamond]\nacross = 5\nrows = 5\nedge = 80"),
        ("wadding", &format!("{areas}\n[wadding]\nthickness = \"8 mm\"")),
    ])
}

fn laid_out(areas: &str) -> Layout {
    layout::lay_out(&job(&with(areas))).unwrap_or_else(|wrong| panic!("{wrong:#?}"))
}

fn at(layout: &Layout, name: &str) -> Option<[f64; 2]> {
    let found = layout.buttons.iter().find(|b| b.name.to_string() == name);
    found.map(|b| [b.at.x, b.at.y])
}

#[test]
fn a_button_in_an_opening_is_left_out_and_listed() {
    let layout = laid_out(
        "[[opening]]\nreason = \"socket\"\nat = [0, 0]\nwidth = 90\nheight = 90\nradius = 5",
    );
    assert_eq!(at(&layout, "3-3"), None);
    assert_eq!(layout.buttons.len(), 22);
    assert!(layout.warnings.contains(&"Left out for the socket: 3-3.".to_string()));
    for sheet in [&layout.board, &layout.foam] {
        assert_eq!(sheet.openings.len(), 1);
        let middle = outline::bounds(&sheet.openings[0]).center();
        assert_relative_eq!(middle.x, 360.0);
        assert_relative_eq!(middle.y, 240.0);
    }
}

/// On a board 720 wide an opening 90 wide has its right edge at 360 - 20 where its middle is at 295.
#[test]
fn a_strip_of_board_easily_broken_is_said() {
    let strips = |places: &[[f64; 2]]| -> Vec<String> {
        let openings = places.iter().zip(["lamp", "socket"]).map(|([x, y], reason)| {
            format!(
                "[[opening]]\nreason = \"{reason}\"\nat = [{x}, {y}]\nwidth = 90\nheight = 60\n"
            )
        });
        let mut said = laid_out(&openings.collect::<String>()).warnings;
        said.retain(|warning| {
            warning.contains("less than 20 mm of board")
                || warning.contains("Less than 20 mm of board")
        });
        said
    };
    assert!(strips(&[[295.0, 0.0]]).is_empty());
    let said = strips(&[[296.0, 0.0]]);
    assert!(said.len() == 1 && said[0].contains("for the lamp leaves less"), "{said:?}");
    assert!(strips(&[[0.0, 0.0], [110.0, 0.0]]).is_empty());
    let said = strips(&[[0.0, 0.0], [109.0, 0.0]]);
    assert!(
        said.len() == 1 && said[0].contains("between the openings for the lamp and the socket"),
        "{said:?}"
    );
    // Corner to corner it is 15 and 12 mm, 19.2 aslant.
    assert_eq!(strips(&[[0.0, 0.0], [105.0, 72.0]]).len(), 1);
    assert!(strips(&[[0.0, 0.0], [107.0, 72.0]]).is_empty(), "17 and 12 mm, 20.8 aslant");
}

#[test]
fn a_button_does_not_go_aside_into_another() {
    // Neighbours stand (35, 40) mm away; 14 mm aside it is 45 mm from two of them.
    let text = |hole: u32| {
        job_text(&[
            ("pattern", "[pattern.diamond]\nacross = 9\nrows = 9\nedge = 80"),
            ("foam", &format!("[foam]\nthickness = 50\nhole = {hole}")),
            (
                "wadding",
                "[[keep_out]]\nreason = \"bolt\"\nat = [0, 0]\nwidth = 20\nheight = 70\nbuttons = \"move\"\n\
                 [wadding]\nthickness = \"8 mm\"",
            ),
        ])
    };
    assert!(layout::lay_out(&job(&text(40))).is_ok());
    let refused =
        layout::lay_out(&job(&text(50))).expect_err("the holes would run into each other");
    assert!(refused[0].message.contains("button 5-5 cannot clear the bolt"), "{refused:?}");
    assert!(refused[0].message.contains("another button"), "{refused:?}");
}

#[test]
fn a_button_goes_aside_by_the_shortest_way() {
    // 3-3 stands 10 mm inside the right edge of the keep-out, which asks for half the board hole, 4 mm.
    let layout = laid_out(
        "[[keep_out]]\nreason = \"bolt\"\nat = [-30, 0]\nwidth = 80\nheight = 60\nbuttons = \"move\"",
    );
    let at = at(&layout, "3-3").expect("it is moved");
    assert_relative_eq!(at[0], 14.0, epsilon = 1e-9);
    assert_relative_eq!(at[1], 0.0, epsilon = 1e-9);
    assert!(layout.board.openings.is_empty(), "nothing is cut for a keep-out");
    let told = "Button 3-3 is moved 14.0 mm aside for the bolt.".to_string();
    assert!(layout.warnings.contains(&told), "{:?}", layout.warnings);
    // On the cloth it is as far aside; the cover lies face down, so to the other side.
    let plain = laid_out("");
    let mark = |layout: &Layout| {
        let marks = &layout.cover.pieces[0].marks;
        marks.iter().find(|(name, _)| name.to_string() == "3-3").expect("marked").1
    };
    // The cloth between its neighbours asks for a little less; what it does not get is stated as strain.
    assert_relative_eq!(mark(&plain).x - mark(&layout).x, 14.0, epsilon = 3.0);
}

#[test]
fn an_opening_is_on_every_drawing_and_nothing_is_drilled_into_it() {
    let text = with(
        "[[opening]]\nreason = \"socket\"\nat = [120, 60]\ndiameter = 70\n[[keep_out]]\nreason = \"cleat\"\nat = [0, -240]\nwidth = 400\nheight = 60",
    );
    let made = made(&job(&text));
    for work in ["board", "foam"] {
        let drawing = String::from_utf8_lossy(&made.files[&format!("{work}.dxf")]).into_owned();
        assert!(drawing.contains("OPENINGS"), "{work}");
    }
    let preview = String::from_utf8_lossy(&made.files["preview.html"]).into_owned();
    assert!(preview.contains("class=\"opening\"") && preview.contains(">socket</text>"));
    assert!(preview.contains("class=\"keep-out\"") && preview.contains(">cleat</text>"));
    for button in &made.layout.buttons {
        let [x, y] = [button.at.x - 120.0, button.at.y - 60.0];
        assert!((x * x + y * y).sqrt() >= 35.0 + 15.0 + 10.0 - 1e-6, "{}", button.name);
    }
}
