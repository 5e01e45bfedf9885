//! The catalogue of what a rehearsal can find wrong, each with its name and what to do about it.

use crate::gcode::{LanguageRule, catalogue};

/// What a fault breaks.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Rule {
    Language(LanguageRule),
    Danger(DangerRule),
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// The controller would stop there with an error.
    Language,
    /// It would run, and should not.
    Danger,
}

impl Rule {
    /// Every rule, in the order of the documentation.
    pub fn all() -> impl Iterator<Item = Rule> {
        let language = LanguageRule::ALL.iter().copied().map(Rule::Language);
        language.chain(DangerRule::ALL.iter().copied().map(Rule::Danger))
    }

    /// The kebab-case name in messages, `--json` and the documentation.
    pub const fn name(self) -> &'static str {
        match self {
            Rule::Language(rule) => rule.name(),
            Rule::Danger(rule) => rule.name(),
        }
    }

    pub const fn kind(self) -> Kind {
        match self {
            Rule::Language(_) => Kind::Language,
            Rule::Danger(_) => Kind::Danger,
        }
    }

    /// One line for the user's documentation: what to do about it.
    pub const fn advice(self) -> &'static str {
        match self {
            Rule::Language(rule) => rule.advice(),
            Rule::Danger(rule) => rule.advice(),
        }
    }
}

catalogue! {
    /// What a machine would do and should not.
    DangerRule {
        OutsideBed = "outside-bed": "Move the work, or choose a larger machine: the tool would run into the end of its travel.";
        TooHigh = "too-high": "Travel lower: the machine cannot lift its tool so far above this work.";
        ThroughSpoilboard = "through-spoilboard": "Cut less deep: the tool would go through the spoilboard into the bed.";
        OutsideWork = "outside-work": "Check the zero and the size of the work: the tool or pen comes down beside it.";
        KeepClear = "keep-clear": "Move the clamp or pin, or travel higher or round it.";
        HolderStrikes = "holder-strikes": "Use a longer tool or cut less deep: its holder would strike the work.";
        HeightUnknown = "height-unknown": "Lift the tool with G0 and Z before anything else.";
        ZeroAtUnknownHeight = "zero-at-unknown-height": "Move to a known height before Z is set anew.";
        RapidTooLow = "rapid-too-low": "Lift the tool to the safe height before it travels.";
        RapidIntoWork = "rapid-into-work": "Go down into the work with G1 and a feed.";
        SpindleStopped = "spindle-stopped": "Start the spindle with M3 or M4 before the cut.";
        SpindleNotAtSpeed = "spindle-not-at-speed": "Wait (G4) for the spindle to be at speed before the cut.";
        TurningWrongWay = "turning-wrong-way": "Turn the tool the way its file says: M3 forward, M4 in reverse.";
        CannotReverse = "cannot-reverse": "Use a machine whose spindle turns in reverse, or a tool that turns forward.";
        NoSpindle = "no-spindle": "This machine has no spindle: use one that has.";
        NoSpeed = "no-speed": "Write the speed, S, before the spindle starts.";
        SpeedBeyondSpindle = "speed-beyond-spindle": "Write a speed, S, that the spindle has.";
        TooFastForTool = "too-fast-for-tool": "Turn the tool no faster than its file says.";
        TooSlowForTool = "too-slow-for-tool": "Turn the tool nearly as fast as its file says: slower, it tears and grabs.";
        NoTool = "no-tool": "Say which tool is fitted, with T and a change, before the cut.";
        UnknownTool = "unknown-tool": "Add the tool to the machine file, or name one that is there.";
        ToolNotChanged = "tool-not-changed": "Change the tool (M6, or M0 where it is done by hand) after T.";
        ToolChangeNotKnown = "tool-change-not-known": "Change tools by T and M0 on this machine: it may pass over M6 or M1 and go on with the old tool.";
        ToolChangeTurning = "tool-change-turning": "Stop the spindle with M5 before hands go near the tool.";
        ToolChangeLow = "tool-change-low": "Lift the tool to the safe height before it is changed.";
        WrongLengthOffset = "wrong-length-offset": "Write the number of the tool in the spindle after H: with another tool's length it goes too deep or too high.";
        LengthNotUsed = "length-not-used": "Write G43 and H with the tool's number after it is changed, before it goes down: lengths stand in this controller's table.";
        CannotPlunge = "cannot-plunge": "Lead this tool in at a slope, or use one that can be driven straight down.";
        CannotCutSideways = "cannot-cut-sideways": "Use a cutter: this tool goes straight down only.";
        FeedBeyondMachine = "feed-beyond-machine": "Write a feed that the machine's axes can reach.";
        FeedBeyondTool = "feed-beyond-tool": "Feed the tool no faster than its file says.";
        FeedPerTooth = "feed-per-tooth": "Change feed or speed: too little per tooth rubs and burns, too much breaks the tool.";
        PenDownOnRapid = "pen-down-on-rapid": "Lift the pen before G0; set it down with G1.";
        PenTurning = "pen-turning": "Keep the spindle stopped while a pen is fitted, or name the tool.";
        PenTooLow = "pen-too-low": "Set the pen down no lower than its file says.";
        PenTooFast = "pen-too-fast": "Draw no faster than the pen's file says.";
        PenLeftDown = "pen-left-down": "Lift the pen before the machine stands still: it bleeds.";
        PenWordsUnclear = "pen-words-unclear": "Lift and lower the pen with the very words that the machine file has for it.";
        LineTooLong = "line-too-long": "Break the line: this controller may cut off its end.";
        ActedUpon = "acted-upon": "Take the sign out of the comment: some controllers act on it even there.";
        CycleNotKnown = "cycle-not-known": "Spell the drilling out in G0 and G1: this controller has no drilling cycles.";
        ArcNotKnown = "arc-not-known": "Spell the arc out in G1: this controller has no arcs.";
        DwellUnit = "dwell-unit": "Check P of the wait: it looks like the wrong unit for this controller.";
        NoSuchAxis = "no-such-axis": "Take the A, B or C word out: this machine has X, Y and Z.";
        UnitsChanged = "units-changed": "Keep to one unit from the first move to the last.";
        WorkOffsetUnset = "work-offset-unset": "Use G54, or say with G10 where X, Y and Z of that zero lie before it is chosen.";
        NotParked = "not-parked": "End the program at the park place.";
        SpindleOnAtEnd = "spindle-on-at-end": "Stop the spindle with M5 before the end.";
        LowAtEnd = "low-at-end": "Lift the tool to the safe height before the end.";
        PenDownAtEnd = "pen-down-at-end": "Lift the pen before the end.";
        EndMissing = "end-missing": "End the program with M2: without it a cut-off file looks whole.";
    }
}

catalogue! {
    /// What a person should know although nothing is wrong yet; each is said once, for its first line.
    Doubt {
        WorkUnknown = "work-unknown": "Give the size of the work with --work, or state it in the program's head.";
        WorkStatedOtherwise = "work-stated-otherwise": "Check which size is right: the program's head or what you gave.";
        UnitsUnstated = "units-unstated": "Begin the program with G21 or G20.";
        DistanceUnstated = "distance-unstated": "Begin the program with G90 or G91.";
        RetractUnstated = "retract-unstated": "Write G98 or G99 with the first drilling cycle.";
        RetractSwitched = "retract-switched": "Write G80 before G98 follows G99.";
        StickyStep = "sticky-step": "Write both X and Y on every drilling cycle in G91.";
        StickyRetract = "sticky-retract": "Write R on every drilling cycle in G91.";
        HomeUnknown = "home-unknown": "Find out where G28 and G30 go on this machine: the controller keeps those places.";
        MachineHeight = "machine-height": "Check Z against the tool in the spindle: machine coordinates know nothing of its length.";
        HomePartly = "home-partly": "Name all three axes with G28 and G30.";
        ArcWithoutEnd = "arc-without-end": "Write an end point with every arc.";
        FeedAfterInverseTime = "feed-after-inverse-time": "Write F on the first cut after G94.";
        FeedBeforeUnits = "feed-before-units": "Write F on a line after G20 or G21.";
        ParameterUnset = "parameter-unset": "Set the parameter (#1=…) before the program uses it.";
        OptionalLine = "optional-line": "Check the controller's switch for lines that begin with /.";
        LongDwell = "long-dwell": "Check that so long a wait is meant.";
        LengthTable = "length-table": "Check the table of tool lengths in the controller: the rehearsal cannot see it.";
        ArcNearlyClosed = "arc-nearly-closed": "Make the end the same as the start for a full circle, or leave the arc out.";
        SpindleMaybeSlow = "spindle-maybe-slow": "Wait (G4) before the cut, or say in the machine file who waits for the spindle: `waits`.";
        PauseTurning = "pause-turning": "Stop the spindle with M5 before a pause: hands come near.";
        LengthNotSet = "length-not-set": "Set Z0 anew after each tool change, or use G43 and H.";
        PenNotSettled = "pen-not-settled": "Wait (G4) for the pen to settle before it moves.";
        TightFit = "tight-fit": "Check by hand: it passes by less than a millimetre.";
        CommentStyle = "comment-style": "Write comments the way this controller reads them.";
    }
}
