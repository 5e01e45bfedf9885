//! What a user reads when a file is wrong: whole messages, as they stand on the screen.

use crate::demo::{home, job_text, source};
use bradawl::{
    diag::{self, Diagnostic, Source},
    job, layout,
    machine::{self, Work},
    make::{self, Refused, Wanted},
    paper::Paper,
    route::Effort,
};
use std::fs;

fn shown(source: &Source, wrong: &[Diagnostic]) -> String {
    anstream::adapter::strip_str(&diag::render(source, wrong)).to_string()
}

/// What is said of a job file, by the reader or else by the layout.
pub fn job_message(text: &str) -> String {
    let source = source(text);
    let wrong = match job::read(&source) {
        Ok(job) => layout::lay_out(&job).expect_err("this job is wrong"),
        Err(wrong) => wrong,
    };
    shown(&source, &wrong)
}

macro_rules! job_messages {
    ($($name:ident: $text:expr;)*) => {$(
        #[test]
        fn $name() {
            insta::assert_snapshot!(stringify!($name), job_message(&$text));
        }
    )*};
}

job_messages! {
    a_file_that_is_not_toml: "title = \"half a text\n[panel\nwidth 3";
    an_empty_file: "";
    a_title_of_two_lines: job_text(&[("title", "\"Bench\\nback\"")]);
    old_buttons_in_one_row: job_text(&[("pattern", "[pattern.diamond]\nwidth = 140\nheight = 175\nedge = 70\nmeasured_from = \"corner\"\npositions = \"true\"\nmeasured = [[100, 200], [240, 200], [380, 200], [520, 200], [660, 200]]")]);
    an_unknown_key_is_shown_with_the_nearest_known_one:
        job_text(&[("board", "[board]\nthicknes = 12\nhole = 8")]);
    a_missing_key: job_text(&[("foam", "[foam]\nthickness = 50")]);
    a_missing_table: job_text(&[("button", "")]);
    a_wrong_type: job_text(&[("board", "[board]\nthickness = true\nhole = [8]")]);
    lengths_without_sense: job_text(&[(
        "panel",
        "[panel.rectangle]\nwidth = \"9 inn\"\nheight = -3",
    ), ("foam", "[foam]\nthickness = nan\nhole = 1e9"), ("board", "[board]\nthickness = inf\nhole = 0")]);
    a_panel_of_900_metres: job_text(&[("panel", "[panel.rectangle]\nwidth = 900000\nheight = 500")]);
    two_shapes: job_text(&[("panel", "[panel.rectangle]\nwidth = 800\nheight = 500\n[panel.ellipse]\nwidth = 800\nheight = 500")]);
    an_outline_that_crosses_itself: job_text(&[("panel", "[panel.polygon]\npoints = [[0, 0], [800, 500], [800, 0], [0, 520]]")]);
    an_outline_that_runs_over_itself: job_text(&[("panel", "[panel.polygon]\npoints = [[0, 0], [800, 0], [800, 500], [800, 100], [0, 500]]")]);
    an_outline_of_two_points: job_text(&[("panel", "[panel.polygon]\npoints = [[0, 0], [800, 500]]")]);
    an_outline_without_area: job_text(&[("panel", "[panel.path]\ndata = \"M0 0 L800 0 L400 0 Z\"")]);
    points_that_are_none: job_text(&[("panel", "[panel.polygon]\npoints = [[0, 0], [800], [800, \"x\"], [0, 500, -3], 7]")]);
    a_point_twice: job_text(&[("panel", "[panel.polygon]\npoints = [[0, 0], [800, 0], [800, 0], [0, 500], [0, 0]]")]);
    a_radius_that_does_not_fit: job_text(&[("panel", "[panel.rectangle]\nwidth = 800\nheight = 500\nradius = { top_left = 300, bottom_left = 250 }")]);
    one_radius_for_all_that_does_not_fit: job_text(&[("panel", "[panel.rectangle]\nwidth = 800\nheight = 500\nradius = 260")]);
    an_arch_higher_than_round: job_text(&[("panel", "[panel.arch]\nwidth = 600\nheight = 300\nrise = 320")]);
    shoulders_without_a_middle: job_text(&[("panel", "[panel.shouldered]\nwidth = 600\nheight = 300\nshoulder_width = 300\nshoulder_drop = 320\nshoulder = \"sloped\"")]);
    a_path_that_is_open: job_text(&[("panel", "[panel.path]\ndata = \"M0 0 L800 0 L800 500 L0 500\"")]);
    a_path_with_a_word_that_is_none: job_text(&[("panel", "[panel.path]\ndata = \"M0 0 L800 0 B800 500 Z\"")]);
    a_path_with_a_number_missing: job_text(&[("panel", "[panel.path]\ndata = \"M0 0 L800 0 L800 Z\"")]);
    a_path_with_two_outlines: job_text(&[("panel", "[panel.path]\ndata = \"M0 0 H800 V500 H0 Z M100 100 h50 v50 z\"")]);
    a_shape_smaller_than_one_diamond: job_text(&[("panel", "[panel.ellipse]\nwidth = 110\nheight = 150")]);
    wings_that_leave_no_edge: job_text(&[("panel", "[panel.polygon]\npoints = [[0, 0], [150, 0], [150, 600], [120, 600]]"),
        ("pattern", "[pattern.diamond]\nacross = 2\nrows = 5\nedge = 70")]);
    a_shape_nobody_knows: job_text(&[("panel", "[panel.rectangel]\nwidth = 800\nheight = 500")]);
    holes_for_dowels_out_of_place: job_text(&[
        ("board", "[board]\nthickness = 12\nhole = 8\n[board.locating]\nhole = 8\nat = [[-355, 0], [150, 0], [60, 150], [-300, -180], [-305, -185], [-330, 200]]"),
        ("wadding", "[[opening]]\nreason = \"socket\"\nat = [150, 0]\nwidth = 20\nheight = 20\n[wadding]\nthickness = 8"),
    ]);
    holes_for_dowels_that_are_none: job_text(&[("board", "[board]\nthickness = 12\nhole = 8\nlocating = { hole = 0, at = 3 }")]);
    a_top_followed_by_too_few_rows: job_text(&[
        ("panel", "[panel.arch]\nwidth = 1000\nheight = 700\nrise = 250"),
        ("pattern", "[pattern.diamond]\nwidth = 130\nheight = 190\nedge = 90\ntop = \"following\"\nfollow = 2"),
    ]);
    an_opening_that_a_button_stands_in: job_text(&[("wadding",
        "[[opening]]\nreason = \"socket\"\nat = [0, 0]\nwidth = 90\nheight = 90\nbuttons = \"refuse\"\n[[keep_out]]\nreason = \"batten\"\nat = [0, 90]\nwidth = 500\nheight = 90\nbuttons = \"move\"\n[wadding]\nthickness = 8")]);
    openings_out_of_place: job_text(&[("wadding",
        "[[opening]]\nreason = \"socket\"\nat = [340, 0]\nwidth = 90\nheight = 90\n[[opening]]\nreason = \"switch\"\nat = [-100, 0]\ndiameter = 70\n[[opening]]\nreason = \"lamp\"\nat = [-100, 20]\nwidth = 20\nheight = 20\nradius = 8\n[wadding]\nthickness = 8")]);
    two_patterns: job_text(&[("pattern", "[pattern.diamond]\nacross = 4\nrows = 4\nedge = 90\n[pattern.square]\nacross = 4\nrows = 4\nedge = 90")]);
    a_diamond_larger_than_the_panel:
        job_text(&[("pattern", "[pattern.diamond]\nwidth = 900\nheight = 700\nedge = 90")]);
    edges_that_leave_no_room: job_text(&[("pattern", "[pattern.diamond]\nwidth = 120\nheight = 180\nedge = 260")]);
    more_buttons_than_anybody_sews: job_text(&[("pattern", "[pattern.diamond]\nwidth = 0.1\nheight = 0.1\nedge = 90")]);
    a_factor_out_of_range: job_text(&[("allowance", "[fabric.allowance.depth]\nfactor = 2.5")]);
    an_allowance_that_does_not_reach: job_text(&[("allowance", "[fabric.allowance.depth]\nfactor = 0.5")]);
    an_allowance_given_twice: job_text(&[(
        "allowance",
        "[fabric.allowance.depth]\nfactor = 1.5\n[fabric.allowance.measured]\nacross = 40\ndown = 40",
    )]);
    foam_left_as_thick_as_the_foam: job_text(&[("foam", "[foam]\nthickness = 50\nhole = 30\nleave = 50")]);
    counts_that_are_none: job_text(&[("title", "\"Trial\"\nquantity = 0"), ("pattern", "[pattern.diamond]\nacross = 1\nrows = 2.5\nedge = 90")]);
    words_that_are_none: job_text(&[("board", "[board]\nthickness = 12\nhole = 8\nface_up = \"up\""), ("fabric", "[fabric]\nroll_width = 1400\nturn_in = 75\npile = \"sideways\"")]);
    pile_cloth_turned_sideways: job_text(&[("fabric", "[fabric]\nroll_width = 1400\nturn_in = 75\nturned = \"sideways\"")]);
    a_list_for_other_rows: job_text(&[("allowance", "[fabric.allowance.measured]\nacross = [60, 60]\ndown = [45]\n")]);
    an_empty_list: job_text(&[("allowance", "[fabric.allowance.measured]\nacross = []\ndown = 45\n")]);
    more_stretch_than_cloth_has: job_text(&[("fabric", "[fabric]\nroll_width = 1400\nturn_in = 75\nstretch = { across = 30 }")]);
    a_roll_narrower_than_a_diamond: job_text(&[("fabric", "[fabric]\nroll_width = 150\nturn_in = 75")]);
    a_pattern_too_narrow_to_be_joined: job_text(&[
        ("panel", "[panel.rectangle]\nwidth = 400\nheight = 480"),
        ("pattern", "[pattern.diamond]\nacross = 2\nrows = 4\nedge = 90"),
        ("fabric", "[fabric]\nroll_width = 500\nturn_in = 75"),
    ]);
    a_roll_too_narrow_for_a_sideways_cover:
        job_text(&[("fabric", "[fabric]\nroll_width = 500\nturn_in = 75\npile = \"none\"\nturned = \"sideways\"")]);
    a_seam_wider_than_half_a_diamond: job_text(&[("fabric", "[fabric]\nroll_width = 600\nturn_in = 75\nseam = 90")]);
    a_repeat_that_nothing_matches: job_text(&[
        ("pattern", "[pattern.diamond]\nwidth = 120\nheight = 180\nfit = \"exact\"\nedge = 90"),
        ("fabric", "[fabric]\nroll_width = 1400\nturn_in = 75\nrepeat = { across = 110, down = 900 }"),
    ]);
    a_repeat_with_a_whole_fit:
        job_text(&[("fabric", "[fabric]\nroll_width = 1400\nturn_in = 75\nrepeat = { across = 400, down = 400 }")]);
    a_motif_without_a_repeat: job_text(&[("fabric", "[fabric]\nroll_width = 1400\nturn_in = 75\nmotif = \"button\"")]);
    a_cover_that_cannot_lie_flat: job_text(&[
        ("pattern", "[pattern.diamond]\nwidth = 120\nrows = 4\nedge = 90"),
        ("allowance", "[fabric.allowance.measured]\nacross = [40, 100, 40, 100]\ndown = 45"),
    ]);
    places_that_are_no_list: job_text(&[("panel", "[panel.polygon]\npoints = 3")]);
    shoulders_as_wide_as_the_panel: job_text(&[("panel", "[panel.shouldered]\nwidth = 600\nheight = 300\nshoulder_width = 300\nshoulder_drop = 90\nshoulder = \"step\"")]);
    shoulders_as_deep_as_the_panel: job_text(&[("panel", "[panel.shouldered]\nwidth = 900\nheight = 300\nshoulder_width = 200\nshoulder_drop = 280\nshoulder = \"step\"\nrise = 40")]);
    shoulders_with_a_middle_too_round: job_text(&[("panel", "[panel.shouldered]\nwidth = 900\nheight = 900\nshoulder_width = 200\nshoulder_drop = 100\nshoulder = \"step\"\nrise = 400")]);
    a_path_that_does_not_begin: job_text(&[("panel", "[panel.path]\ndata = \"L800 0 L800 500 Z\"")]);
    a_path_of_nothing: job_text(&[("panel", "[panel.path]\ndata = \" \"")]);
    a_path_of_two: job_text(&[("panel", "[panel.path]\ndata = \"M0 0 L800 0 L800 500 M100 100 L200 100 L200 200 Z\"")]);
    a_path_beyond_all_measure: job_text(&[("panel", "[panel.path]\ndata = \"M0 0 L1e300 0 L800 500 Z\"")]);
    a_path_with_an_arc_half_said: job_text(&[("panel", "[panel.path]\ndata = \"M0 0 A40 40 0 5 1 800 500 Z\"")]);
    bonded_foam_with_some_left: job_text(&[("foam", "[foam]\nthickness = 50\nhole = 30\nbonded = true\nleave = 5")]);
    bonded_foam_beyond_its_board: job_text(&[("foam", "[foam]\nthickness = 50\nhole = 30\nbonded = true\noverhang = 5")]);
    too_few_old_buttons: job_text(&[("pattern", "[pattern.diamond]\nwidth = 120\nheight = 180\nedge = 90\nmeasured = [[90, 90], [210, 90]]")]);
    an_old_button_far_from_the_others: job_text(&[("pattern", "[pattern.diamond]\nwidth = 120\nheight = 180\nedge = 60\nmeasured = [[90, 90], [210, 90], [330, 90], [150, 180], [270, 180], [655, 437]]")]);
    an_opening_no_button_can_clear: job_text(&[("button", "[button]\ndiameter = 22\n[[opening]]\nreason = \"socket\"\nat = [0, 90]\nwidth = 90\nheight = 90\nbuttons = \"move\"\nmost = 5")]);
    a_title_that_is_no_text: job_text(&[("title", "12")]);
    an_empty_title: job_text(&[("title", "\"  \"")]);
    a_pattern_that_is_none: job_text(&[("pattern", "[pattern]")]);
    an_allowance_that_is_none: job_text(&[("allowance", "[fabric.allowance]")]);
    values_of_the_wrong_kind: job_text(&[
        ("units", "\"mm\"\nbutton = 3"),
        ("button", ""),
        ("fabric", "[fabric]\nroll_width = 1400\nturn_in = 75\npleat_lines = \"yes\""),
        ("allowance", "[fabric.allowance.depth]\nfactor = \"one\""),
    ]);
    words_nearly_right: job_text(&[("board", "[board]\nthickness = 12\nhole = 8\nface_up = \"bakc\"")]);
    every_button_too_near_the_edge: job_text(&[("pattern", "[pattern.diamond]\nfit = \"exact\"\nwidth = 700\nheight = 120\nacross = 2\nrows = 1\nedge = 90")]);
    a_seat_that_the_cover_does_not_reach: job_text(&[("allowance", "[fabric.allowance.hole]\nseat = 10")]);
}

/// A foam hole smaller than the button is a warning: the job is made all the same.
#[test]
fn a_foam_hole_smaller_than_the_button_is_a_warning() {
    let job = crate::demo::job(&job_text(&[("foam", "[foam]\nthickness = 50\nhole = 20")]));
    let layout = layout::lay_out(&job).expect("this job can be made");
    insta::assert_snapshot!("a_foam_hole_smaller_than_the_button", layout.warnings.join("\n"));
}

fn machine_message(text: &str) -> String {
    let source = Source { name: "machines/trial.toml".to_string(), text: text.to_string() };
    shown(&source, &machine::read("trial", &source).expect_err("this machine file is wrong"))
}

const ROUTER: &str = include_str!("../../machines/bench-router.toml");
const HPGL: &str = include_str!("../../machines/hpgl-plotter.toml");
const PLOTTER: &str = include_str!("../../machines/servo-plotter.toml");

#[test]
fn all_that_is_wrong_with_a_machine_file_is_said_at_once() {
    let text = ROUTER
        .replace("park         = { x = 0, y = 0 }", "park         = { x = 950, y = 0 }")
        .replace("rpm_min = 3000", "rpm_min = 30000")
        .replace("number   = 2", "number   = 1")
        .replace("x = [0, 40]", "x = [40, 0]")
        .replace("line_length = 70", "line_length = 400")
        .replace("spin_up", "spinup");
    insta::assert_snapshot!("a_machine_file_with_much_wrong", machine_message(&text));
}

#[test]
fn values_of_the_wrong_kind_in_a_machine_file_are_said_as_such() {
    let text = ROUTER
        .replace("rapid        = { x = 5000,", "rapid        = { x = \"fast\",")
        .replace("rpm_min = 3000", "rpm_min = \"slow\"")
        .replace("work     = [\"board\"]", "work     = \"board\"")
        .replace("x = [0, 40]", "x = 40")
        .replace("safe_height  = 10", "safe_height  = 100")
        .replace("[[tool]]", "[[bit]]");
    insta::assert_snapshot!("a_machine_file_with_wrong_kinds", machine_message(&text));
    let tool = format!("tool = 3\n{}", ROUTER.split("[[tool]]").next().expect("what comes before"));
    insta::assert_snapshot!("tools_that_are_no_list", machine_message(&tool));
    let tools = ROUTER
        .replace("work     = [\"board\"]", "work     = \"board\"")
        .replace("x = [0, 40]", "x = [40]");
    insta::assert_snapshot!("lists_that_are_none", machine_message(&tools));
}

#[test]
fn what_a_controller_cannot_be_told_is_said() {
    let with = |speech: &str| ROUTER.replace("[speech]", &format!("[speech]\n{speech}"));
    let cases = [
        ("a_line_that_is_no_list", with("start = \"M8\"")),
        ("a_line_no_controller_reads", with("start = [\"M8 caf\u{e9}\"]")),
        ("decimals_too_coarse", with("decimals = 1")),
        ("a_router_told_in_hpgl", with("writes = \"hpgl\"")),
        ("a_router_that_pulls_cloth", format!("feed_steps = true\n{ROUTER}")),
        ("a_plotter_that_cannot_pause", format!("tiles = true\n{HPGL}")),
    ];
    for (name, text) in cases {
        insta::assert_snapshot!(name, machine_message(&text));
    }
}

#[test]
fn a_tool_that_cannot_go_first_is_said() {
    let first = "number   = 1\n";
    let follows = |number: u32, more: &str| {
        ROUTER.replace(first, &format!("{first}follows  = {number}\n{more}"))
    };
    let spots = |text: String| text.replace("number   = 3\n", "number   = 3\nspots    = 2\n");
    for (name, text) in [
        ("a_first_tool_that_is_not_there", follows(9, "")),
        ("a_first_tool_as_thick", follows(2, "")),
        ("a_first_tool_that_only_marks", spots(follows(3, ""))),
        (
            "a_first_tool_for_other_work",
            ROUTER.replace("number   = 2\n", "number   = 2\nfollows  = 3\n"),
        ),
        (
            "a_first_tool_that_turns_the_other_way",
            follows(3, "")
                .replacen("number   = 3\n", "number   = 3\nrotation = \"reverse\"\n", 1)
                .replace("reach    = 32\nrotation = \"forward\"", "reach    = 32"),
        ),
    ] {
        insta::assert_snapshot!(name, machine_message(&text));
    }
}

/// What is said of a job that this machine cannot make.
fn refusal(name: &str, machine: &str, work: Work) -> String {
    refusal_of(&job_text(&[]), name, machine, work)
}

pub fn refusal_of(job: &str, name: &str, machine: &str, work: Work) -> String {
    let text = Source { name: format!("{name}.toml"), text: machine.to_string() };
    let mut machines = crate::demo::machines();
    let read = machine::read(name, &text).unwrap_or_else(|wrong| panic!("{wrong:#?}"));
    machines.insert(name.to_string(), read);
    let source = source(job);
    let job = job::read(&source).expect("this job is well");
    match make::make(
        &Wanted {
            job: &job,
            machines: &machines,
            works: &[work],
            effort: Effort::Quick,
            paper: Paper::A4,
        },
        &|_| {},
    ) {
        Err(Refused::Job(wrong)) => shown(&source, &wrong),
        Ok(_) => panic!("this machine can make it"),
        Err(Refused::Program(unproven)) => panic!("{unproven:?}"),
    }
}

#[test]
fn a_machine_that_cannot_make_the_job_says_what_stands_in_the_way() {
    let spoilt = [
        ("a_thin_spoilboard", "spoilboard = 18 ", "spoilboard = 0 "),
        ("a_spindle_too_fast_for_the_bit", "rpm_min = 3000", "rpm_min = 20000"),
        ("clamps_over_every_hole", "x = [0, 40]\ny = [0, 30]", "x = [0, 900]\ny = [0, 600]"),
        ("too_little_height", "z = 80 ", "z = 20 "),
    ];
    for (name, from, to) in spoilt {
        assert!(ROUTER.contains(from), "{from}");
        let router = ROUTER.replace(from, to);
        insta::assert_snapshot!(name, refusal("bench-router", &router, Work::Board));
    }
}

#[test]
fn works_too_large_for_their_machine_are_said() {
    let long = ("panel", "[panel.rectangle]\nwidth = 2030\nheight = 560");
    let thin = job_text(&[long, ("board", "[board]\nthickness = 12\nhole = 4")]);
    let bonded = job_text(&[
        ("foam", "[foam]\nthickness = 40\nhole = 30\nbonded = true"),
        ("board", "[board]\nthickness = 12\nhole = 8\nface_up = \"back\""),
    ]);
    let few = job_text(&[
        ("panel", "[panel.rectangle]\nwidth = 2030\nheight = 480"),
        ("pattern", "[pattern.diamond]\nacross = 2\nrows = 2\nedge = 90"),
        ("fabric", "[fabric]\nroll_width = 3000\nturn_in = 75"),
    ]);
    let high = job_text(&[("panel", "[panel.rectangle]\nwidth = 1500\nheight = 1500")]);
    for (name, job) in [
        ("dowels_that_bend", thin),
        ("bonded_foam_back_up", bonded),
        ("no_holes_for_the_dowels", few),
        ("a_board_out_of_reach", high),
    ] {
        let router = match name {
            "dowels_that_bend" => ROUTER.replace("diameter = 8", "diameter = 4"),
            _ => ROUTER.to_string(),
        };
        insta::assert_snapshot!(name, refusal_of(&job, "bench-router", &router, Work::Board));
    }
}

#[test]
fn a_clamp_in_the_way_of_the_pen_is_said() {
    let plotter = include_str!("../../machines/roll-plotter.toml").to_string()
        + "\n[[keep_clear]]\nx = [500, 520]\ny = [300, 900]\nheight = 10\n";
    insta::assert_snapshot!(
        "a_clamp_in_the_way_of_the_pen",
        refusal("roll-plotter", &plotter, Work::Fabric)
    );
}

/// Every message about a file stands, in part at least, in a stored text or a test: nobody has seen the others.
#[test]
fn every_message_about_a_file_has_a_test() {
    let mut seen = String::new();
    for folder in ["tests/it", "tests/it/snapshots"] {
        for entry in fs::read_dir(home().join(folder)).expect("there") {
            let path = entry.expect("readable").path();
            if path.is_file() {
                seen += &fs::read_to_string(path).expect("text");
            }
        }
    }
    let mut unseen = Vec::new();
    let mut found = 0;
    for (file, text) in crate::tidy::all() {
        for (at, call) in text
            .match_indices("Diagnostic::at(")
            .chain(text.match_indices(".wrong("))
            .chain(text.match_indices("self.at_machine("))
        {
            let Some(message) = first_text(&text[at + call.len()..]) else { continue };
            found += 1;
            if !seen.contains(&message) {
                unseen.push(format!("{file}: {message}"));
            }
        }
    }
    assert!(found > 40, "{found} messages were found in the source");
    assert_eq!(unseen, Vec::<String>::new());
}

/// The longest stretch without a slot of the first text in quotes, if one follows before the call is over.
fn first_text(rest: &str) -> Option<String> {
    let (before, rest) = rest.split_once('"')?;
    if before.contains(';') || before.contains("fn ") || before.contains("message") {
        return None;
    }
    let mut text = String::new();
    let mut signs = rest.chars().peekable();
    while let Some(sign) = signs.next().filter(|sign| *sign != '"') {
        match (sign, signs.peek()) {
            ('\\', Some('\n')) => while signs.next_if(|sign| sign.is_whitespace()).is_some() {},
            ('\\', _) => text.extend(signs.next()),
            _ => text.push(sign),
        }
    }
    let stretches =
        text.split('{').map(|part| part.split_once('}').map_or(part, |(_, after)| after));
    let longest = stretches.max_by_key(|part| part.len())?.trim();
    (longest.len() > 4).then(|| longest.to_string())
}

#[test]
fn a_router_without_a_spindle_is_refused() {
    let text: String = ROUTER.replace("[spindle]", "[spindel]");
    insta::assert_snapshot!("a_router_without_a_spindle", machine_message(&text));
}

#[test]
fn a_pen_that_goes_up_one_way_and_down_another_is_refused() {
    let mixed = PLOTTER.replace("up     = \"M5\"", "up     = \"5 mm\"");
    insta::assert_snapshot!("a_pen_of_two_kinds", machine_message(&mixed));
    let upside_down =
        PLOTTER.replace("up     = \"M5\"", "up = \"0 mm\"").replace("\"M3 S90\"", "\"5 mm\"");
    insta::assert_snapshot!("a_pen_upside_down", machine_message(&upside_down));
    let nonsense = PLOTTER.replace("\"M5\"", "\"lift it\"");
    insta::assert_snapshot!("a_pen_without_sense", machine_message(&nonsense));
}
