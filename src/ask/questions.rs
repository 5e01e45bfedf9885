//! What is asked, in order. Each question is one thing a person measures or decides; its explanation
//! also stands above the key in the job file.

use super::Answers;
use crate::{machine::Work, units::Unit, words};

/// One question.
pub struct Question {
    /// Its short name: the flag on the command line, and its name in an unfinished file.
    pub word: &'static str,
    pub asks: &'static str,
    /// One line on what is meant, and why.
    pub explains: &'static str,
    pub kind: Kind,
    /// Where the answer stands in the job file; `*` is whichever table is there.
    pub place: &'static str,
    pub offer: Offer,
    /// An answer that suits any panel, to lay out what is known so far; it is never written.
    pub stand_in: &'static str,
    /// Whether it needs asking after what was answered so far.
    pub when: fn(&Answers) -> bool,
}

pub enum Kind {
    Text,
    /// A text, or nothing.
    TextOrNone,
    Number,
    Length,
    /// One length for all edges, or three: sides, top, bottom.
    Edges,
    /// A length, or a count such as `7 buttons`, which stands under the other key.
    SizeOrCount {
        count_key: &'static str,
    },
    /// One of a few words, each with what it means.
    Choice(&'static [(&'static str, &'static str)]),
    /// Which of several tables stands at the place; when it is exchanged for another, the keys in `keep` stay.
    Table {
        words: &'static [(&'static str, &'static str)],
        keep: &'static [&'static str],
    },
    /// A machine that suits this work, or none.
    Machine(Work),
    /// Which of the nearest whole fits.
    Fit,
}

/// What Enter takes.
pub enum Offer {
    /// Nothing: only the person knows.
    Nothing,
    /// What is usual, for a person to agree to.
    Usual { mm: &'static str, inch: &'static str },
    /// What follows from the answers so far, for a person to agree to.
    Follows(fn(&Answers) -> Option<String>),
    /// What stands unless something else is said.
    Default(&'static str),
}

fn always(_: &Answers) -> bool {
    true
}

/// The trade's proportion: diamonds on backs stand 1.35 to 2 times as high as wide.
fn half_as_high_again(answers: &Answers) -> Option<String> {
    let width = answers.length("diamond-width")?;
    Some(match answers.unit() {
        Unit::Inch => words::decimal((width * 1.5 / 25.4 * 4.0).round() / 4.0, 2),
        _ => words::decimal((width * 1.5 / 5.0).round() * 5.0, 0),
    })
}

/// Whether the panel's outline is one of the measured shapes, and not taken over as an old job has it.
fn measured(answers: &Answers) -> bool {
    !answers.is("shape", AS_IT_IS)
}

fn shouldered(answers: &Answers) -> bool {
    answers.is("shape", "shouldered")
}

pub const WHOLE: &str = "whole";
pub const KEEP: &str = "keep";
pub const NONE: &str = "none";
/// The shape of an old job that no question describes.
pub const AS_IT_IS: &str = "as it is";

/// Every question, in the order in which it is asked.
pub const QUESTIONS: &[Question] = &[
    Question {
        word: "title",
        asks: "What is the job called?",
        explains: "The name the bench knows it by; it stands on every sheet and program.",
        kind: Kind::Text,
        place: "title",
        offer: Offer::Nothing,
        stand_in: "?",
        when: always,
    },
    Question {
        word: "quantity",
        asks: "How many panels alike?",
        explains: "Panels made from this one job.",
        kind: Kind::Number,
        place: "quantity",
        offer: Offer::Default("1"),
        stand_in: "1",
        when: always,
    },
    Question {
        word: "units",
        asks: "Which unit is your tape in?",
        explains: "The unit of bare numbers; a length in quotes carries its own, such as \"7 1/4 in\".",
        kind: Kind::Choice(&[("mm", "millimetres"), ("in", "inches")]),
        place: "units",
        offer: Offer::Default("mm"),
        stand_in: "mm",
        when: always,
    },
    Question {
        word: "used-in",
        asks: "Where will it be used?",
        explains: "Printed as 'stated, not checked' beside the fire and safety notice.",
        kind: Kind::TextOrNone,
        place: "used_in",
        offer: Offer::Default(NONE),
        stand_in: "?",
        when: always,
    },
    Question {
        word: "shape",
        asks: "What shape is the panel?",
        explains: "Seen from the front. Other shapes, and outlines from a drawing, are written into the file by hand.",
        kind: Kind::Table {
            words: &[
                ("rectangle", "four straight sides"),
                ("arch", "straight sides under an arched top"),
                ("shouldered", "a middle that stands higher than the shoulders beside it"),
                ("ellipse", "oval or round"),
            ],
            keep: &["width", "height"],
        },
        place: "panel",
        offer: Offer::Default("rectangle"),
        stand_in: "rectangle",
        when: always,
    },
    Question {
        word: "width",
        asks: "How wide is the finished panel?",
        explains: "Edge to edge at its widest, seen from the front as it hangs.",
        kind: Kind::Length,
        place: "panel.*.width",
        offer: Offer::Nothing,
        stand_in: "1000 mm",
        when: measured,
    },
    Question {
        word: "height",
        asks: "How high is the finished panel?",
        explains: "Bottom to top at its highest, as it hangs.",
        kind: Kind::Length,
        place: "panel.*.height",
        offer: Offer::Nothing,
        stand_in: "1000 mm",
        when: measured,
    },
    Question {
        word: "rise",
        asks: "How far does the arch rise above the straight sides?",
        explains: "From where a side ends up to the top of the arch; half the width makes it a half round.",
        kind: Kind::Length,
        place: "panel.*.rise",
        offer: Offer::Nothing,
        stand_in: "1 mm",
        when: |answers| answers.is("shape", "arch"),
    },
    Question {
        word: "shoulder-width",
        asks: "How wide is one shoulder?",
        explains: "From the panel's side to where it goes up to the middle.",
        kind: Kind::Length,
        place: "panel.*.shoulder_width",
        offer: Offer::Nothing,
        stand_in: "1 mm",
        when: shouldered,
    },
    Question {
        word: "shoulder-drop",
        asks: "How far does a shoulder lie below the middle?",
        explains: "Below the middle's own corners.",
        kind: Kind::Length,
        place: "panel.*.shoulder_drop",
        offer: Offer::Nothing,
        stand_in: "1 mm",
        when: shouldered,
    },
    Question {
        word: "shoulder",
        asks: "How does it go up from the shoulder to the middle?",
        explains: "step: at a right angle. scoop: a hollow quarter round. swept: an S, level at both ends.",
        kind: Kind::Choice(&[
            ("step", "at a right angle"),
            ("scoop", "hollow"),
            ("swept", "an S of two arcs"),
        ]),
        place: "panel.*.shoulder",
        offer: Offer::Default("step"),
        stand_in: "step",
        when: shouldered,
    },
    Question {
        word: "middle-rise",
        asks: "How far is the top of the middle arched?",
        explains: "From the middle's corners up to its crown; 0 if it is straight.",
        kind: Kind::Length,
        place: "panel.*.rise",
        offer: Offer::Default("0"),
        stand_in: "0",
        when: shouldered,
    },
    Question {
        word: "board-thickness",
        asks: "How thick is the board?",
        explains: "The board behind the foam; 12 mm (1/2 in) ply is usual.",
        kind: Kind::Length,
        place: "board.thickness",
        offer: Offer::Usual { mm: "12", inch: "1/2" },
        stand_in: "12 mm",
        when: always,
    },
    Question {
        word: "board-hole",
        asks: "How wide are the holes in the board?",
        explains: "For the twine: 6 to 9.5 mm (1/4 to 3/8 in) is usual, as a bit you have.",
        kind: Kind::Length,
        place: "board.hole",
        offer: Offer::Usual { mm: "8", inch: "5/16" },
        stand_in: "8 mm",
        when: always,
    },
    Question {
        word: "foam-thickness",
        asks: "How thick is the foam?",
        explains: "As it lies, not pressed; 50 to 75 mm (2 to 3 in) is usual for headboards.",
        kind: Kind::Length,
        place: "foam.thickness",
        offer: Offer::Usual { mm: "50", inch: "2" },
        stand_in: "50 mm",
        when: always,
    },
    Question {
        word: "wadding",
        asks: "How thick is the wadding over the foam?",
        explains: "Pressed lightly with the hand; 0 if there is none.",
        kind: Kind::Length,
        place: "wadding.thickness",
        offer: Offer::Default("0"),
        stand_in: "0",
        when: always,
    },
    Question {
        word: "button",
        asks: "How wide is a button?",
        explains: "The covered button; a button maker's line is 40 to the inch, such as \"30 line\".",
        kind: Kind::Length,
        place: "button.diameter",
        offer: Offer::Usual { mm: "30 line", inch: "30 line" },
        stand_in: "20 mm",
        when: always,
    },
    Question {
        word: "foam-hole",
        asks: "How wide are the holes in the foam?",
        explains: "The button sinks into it, so it is no smaller than the button; 25 to 30 mm is usual.",
        kind: Kind::Length,
        place: "foam.hole",
        offer: Offer::Usual { mm: "30", inch: "30 mm" },
        stand_in: "30 mm",
        when: always,
    },
    Question {
        word: "pattern",
        asks: "Diamonds or squares?",
        explains: "Diamonds: every other row stands half a diamond in. Squares: all rows stand alike.",
        kind: Kind::Table {
            words: &[("diamond", "rows staggered"), ("square", "rows alike")],
            keep: &["fit", "edge", "width", "height", "across", "rows"],
        },
        place: "pattern",
        offer: Offer::Default("diamond"),
        stand_in: "diamond",
        when: always,
    },
    Question {
        word: "fit",
        asks: "If they do not come out even, what gives way?",
        explains: "whole: the diamond gives way and the edges are exact. exact: the edges give way.",
        kind: Kind::Choice(&[
            (WHOLE, "the diamond gives way a little, the edges are exact"),
            ("exact", "the diamond is exact, the edges give way"),
        ]),
        place: "pattern.*.fit",
        offer: Offer::Default(WHOLE),
        stand_in: "whole",
        when: always,
    },
    Question {
        word: "edge",
        asks: "How far from the edge are the outside buttons?",
        explains: "75 to 100 mm (3 to 4 in) is usual; one length, or three: sides, top, bottom.",
        kind: Kind::Edges,
        place: "pattern.*.edge",
        offer: Offer::Usual { mm: "90", inch: "3 1/2" },
        stand_in: "1 mm",
        when: always,
    },
    Question {
        word: "diamond-width",
        asks: "How wide is a diamond?",
        explains: "From button to button along a row; or say how many in a long row, such as 7 buttons.",
        kind: Kind::SizeOrCount { count_key: "across" },
        place: "pattern.*.width",
        offer: Offer::Nothing,
        stand_in: "3 buttons",
        when: always,
    },
    Question {
        word: "diamond-height",
        asks: "How high is a diamond?",
        explains: "From its top button to its bottom button (square: row to row); or how many rows, such as 5 rows.",
        kind: Kind::SizeOrCount { count_key: "rows" },
        place: "pattern.*.height",
        offer: Offer::Follows(half_as_high_again),
        stand_in: "3 rows",
        when: always,
    },
    Question {
        word: "top-row",
        asks: "Does the top row have one button more, or one fewer?",
        explains: "long: the top row has the full number. short: it has one fewer and stands half a diamond in.",
        kind: Kind::Choice(&[("long", "the full number"), ("short", "one fewer")]),
        place: "pattern.*.top_row",
        offer: Offer::Default("long"),
        stand_in: "long",
        when: |answers| !answers.is("pattern", "square"),
    },
    Question {
        word: "choice",
        asks: "Keep this fit, or take one of its neighbours?",
        explains: "Buttons in a long row, and rows.",
        kind: Kind::Fit,
        place: "pattern.*",
        offer: Offer::Default(KEEP),
        stand_in: "keep",
        when: |answers| !answers.is("fit", "exact"),
    },
    Question {
        word: "roll-width",
        asks: "How wide is the cloth on its roll?",
        explains: "What can be used of it, without the selvedges.",
        kind: Kind::Length,
        place: "fabric.roll_width",
        offer: Offer::Usual { mm: "1400", inch: "54" },
        stand_in: "20000 mm",
        when: always,
    },
    Question {
        word: "turn-in",
        asks: "How much cloth is turned to the back?",
        explains: "Beyond the board's edge, to be stapled.",
        kind: Kind::Length,
        place: "fabric.turn_in",
        offer: Offer::Usual { mm: "75", inch: "3" },
        stand_in: "1 mm",
        when: always,
    },
    Question {
        word: "pile",
        asks: "Has the cloth a pile?",
        explains: "A pile runs down the hung panel, so its pieces are never turned sideways.",
        kind: Kind::Choice(&[("down", "yes, it runs down"), ("none", "no pile")]),
        place: "fabric.pile",
        offer: Offer::Default("down"),
        stand_in: "down",
        when: always,
    },
    Question {
        word: "allowance",
        asks: "How was the allowance for the pleats found?",
        explains: "How much longer the cloth is than the panel, for each full diamond: the tape knows it best.",
        kind: Kind::Table {
            words: &[
                ("measured", "with a tape pushed into two holes of a trial piece"),
                ("depth", "not yet: work it out from the depth"),
                ("hole", "from the hole: how far below its rim the button sits"),
            ],
            keep: &[],
        },
        place: "fabric.allowance",
        offer: Offer::Default("measured"),
        stand_in: "depth",
        when: always,
    },
    Question {
        word: "allowance-across",
        asks: "How much longer is the tape across a diamond?",
        explains: "Tape pushed into both holes, less the straight distance, for a full diamond across.",
        kind: Kind::Length,
        place: "fabric.allowance.measured.across",
        offer: Offer::Nothing,
        stand_in: "40 mm",
        when: |answers| answers.is("allowance", "measured"),
    },
    Question {
        word: "allowance-down",
        asks: "How much longer is the tape down a diamond?",
        explains: "The same from a diamond's top button to its bottom button.",
        kind: Kind::Length,
        place: "fabric.allowance.measured.down",
        offer: Offer::Nothing,
        stand_in: "40 mm",
        when: |answers| answers.is("allowance", "measured"),
    },
    Question {
        word: "allowance-factor",
        asks: "How much of the depth is taken up by the pleats?",
        explains: "The allowance is this factor times how deep the cover is pulled, 0.5 to 2.",
        kind: Kind::Number,
        place: "fabric.allowance.depth.factor",
        offer: Offer::Default("1"),
        stand_in: "2",
        when: |answers| answers.is("allowance", "depth"),
    },
    Question {
        word: "seat",
        asks: "How far below the rim of its hole does a button sit?",
        explains: "The cloth runs from the rim straight down to the button and flat across.",
        kind: Kind::Length,
        place: "fabric.allowance.hole.seat",
        offer: Offer::Nothing,
        stand_in: "40 mm",
        when: |answers| answers.is("allowance", "hole"),
    },
    Question {
        word: "board-on",
        asks: "Which machine drills the board?",
        explains: "By the name of its file; without one there is a drawing only.",
        kind: Kind::Machine(Work::Board),
        place: "on.board",
        offer: Offer::Nothing,
        stand_in: "none",
        when: always,
    },
    Question {
        word: "foam-on",
        asks: "Which machine drills the foam?",
        explains: "By the name of its file; without one there is a drawing only.",
        kind: Kind::Machine(Work::Foam),
        place: "on.foam",
        offer: Offer::Nothing,
        stand_in: "none",
        when: always,
    },
    Question {
        word: "fabric-on",
        asks: "Which machine marks the cloth?",
        explains: "By the name of its file; without one there is a drawing only.",
        kind: Kind::Machine(Work::Fabric),
        place: "on.fabric",
        offer: Offer::Nothing,
        stand_in: "none",
        when: always,
    },
];
