//! The rules of the language, each with its name and what to do when a program breaks it.

/// Makes a closed catalogue of named rules out of one table: the enum, all its members in order,
/// the kebab-case name of each, and one line of advice for the user's documentation.
macro_rules! catalogue {
    ($(#[$doc:meta])* $Rule:ident { $($Member:ident = $name:literal: $advice:literal;)* }) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum $Rule {
            $(#[doc = $advice] $Member,)*
        }

        impl $Rule {
            /// Every one, in the order of the documentation.
            pub const ALL: &'static [$Rule] = &[$($Rule::$Member,)*];

            /// The name in messages, in `--json` and in the documentation.
            pub const fn name(self) -> &'static str {
                match self { $($Rule::$Member => $name,)* }
            }

            /// What a person does about it.
            pub const fn advice(self) -> &'static str {
                match self { $($Rule::$Member => $advice,)* }
            }
        }
    };
}
pub(crate) use catalogue;

catalogue! {
    /// What makes a controller that follows the standard stop with an error.
    LanguageRule {
        NotText = "not-text": "The file is not a program: save it as plain text.";
        LineOver256 = "line-over-256": "Break the line: the standard allows 256 characters.";
        UnknownSign = "unknown-sign": "Take the sign out; only letters, numbers, comments and [ ] # belong here.";
        UnknownLetter = "unknown-letter": "Take the word out or replace it: the standard has no such letter.";
        UnknownG = "unknown-g": "Replace the G word by one that the standard has.";
        UnknownM = "unknown-m": "Replace the M word by one that the standard has.";
        NotRehearsed = "not-rehearsed": "Have the program written without this word: what it does cannot be rehearsed.";
        NumberMissing = "number-missing": "Write a number after the letter.";
        NotWhole = "not-whole": "Write a whole number there.";
        Negative = "negative": "Write a number that is not below nought there.";
        NumberOutOfRange = "number-out-of-range": "Write a number that a machine can mean.";
        LineNumber = "line-number": "Write N and one to five digits, first on the line.";
        CommentOpen = "comment-open": "Close the comment with ) on the same line.";
        CommentNested = "comment-nested": "Write no ( inside a comment.";
        CommentStray = "comment-stray": "Take the ) out, or open the comment with (.";
        BadExpression = "bad-expression": "Put the sum right: [ ] in pairs, a value on each side of each sign.";
        ImpossibleSum = "impossible-sum": "Change the sum in [ ]: it divides by nought or has no value.";
        NoSuchParameter = "no-such-parameter": "Use the parameters #1 to #5399.";
        LetterTwice = "letter-twice": "Write each letter but G and M once on a line.";
        GroupClash = "group-clash": "Keep one of the two words, or put them on lines of their own: one undoes the other.";
        TooManyM = "too-many-m": "Write at most four M words on a line.";
        UnusedWord = "unused-word": "Take the word out: nothing on the line uses it.";
        AxesWantedTwice = "axes-wanted-twice": "Put the two words on lines of their own: both want the axis words.";
        AxisMissing = "axis-missing": "Write at least one axis word that the motion can use.";
        MotionMissing = "motion-missing": "Write G0, G1, G2 or G3 before the axis words.";
        FeedMissing = "feed-missing": "Write a feed, F, before the first cut.";
        ArcCentreMissing = "arc-centre-missing": "Give the arc its centre (I, J, K) or its radius (R).";
        ArcCentreDoubled = "arc-centre-doubled": "Give the arc its centre or its radius, not both.";
        ArcRadiiDiffer = "arc-radii-differ": "Correct the arc: its two ends are not equally far from its centre.";
        ArcRadius = "arc-radius": "Correct the radius: no such arc joins the two ends.";
        DwellTimeMissing = "dwell-time-missing": "Write how long to wait after P.";
        LengthOffsetMissing = "length-offset-missing": "Write H and the tool's number with G43.";
        MachineMove = "machine-move": "Use G53, a place on the machine, with G0 or G1 only, and not while G91 counts in steps.";
        WorkSystem = "work-system": "Write G10 with L2 and P1 to P9, which set one of the nine zeros: no other G10 is read.";
        CycleWordMissing = "cycle-word-missing": "State the depth (Z) and the height to start from (R), with G82 the wait (P), with G83 the bite (Q).";
        CycleUpsideDown = "cycle-upside-down": "Make R, the height to start from, higher than Z, the depth.";
        CycleCount = "cycle-count": "Make L, how many holes, and Q, the bite, more than nought.";
        CycleInInverseTime = "cycle-in-inverse-time": "Write G94 and a feed before a drilling cycle: in G93 F is not a speed.";
        PercentMisplaced = "percent-misplaced": "Put % alone on the first and the last line, or nowhere.";
    }
}

/// Why a line was refused.
#[derive(Debug, Clone, PartialEq)]
pub struct Refusal {
    pub rule: LanguageRule,
    /// Counted from 1.
    pub line: u64,
    /// First byte of the place on the line, counted from 1; 0 where the whole line is meant.
    pub column: usize,
    /// Plain words, without the place.
    pub message: String,
}

/// Boxed, so that the good outcome stays small.
pub type Refused = Box<Refusal>;
