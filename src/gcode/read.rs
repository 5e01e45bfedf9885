//! Lines out of a stream, and blocks out of lines, in one pass and without allocating for a line.

use super::{rules::LanguageRule as Rule, value::Cursor, *};
use std::io::{self, BufRead};

/// Gives the blocks of a program one by one. Memory does not grow with the program, nor with a line.
pub struct Reader<R> {
    input: R,
    /// The beginning of a line whose end is not in the input's buffer yet.
    carry: Vec<u8>,
    block: Block,
    line: u64,
    marks: Marks,
    own_m: Vec<u16>,
}

/// Where the `%` lines stand that may fence a program (page 14).
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Marks {
    Undecided,
    Without,
    Opened,
    Closed,
}

/// What a line turned out to be.
enum Seen {
    Block,
    Mark,
}

impl<R: BufRead> Reader<R> {
    /// Reads from the beginning of a program.
    pub fn new(input: R) -> Self {
        Reader {
            input,
            carry: Vec::with_capacity(LONGEST_LINE + 1),
            block: Block::default(),
            line: 0,
            marks: Marks::Undecided,
            own_m: Vec::new(),
        }
    }

    /// Lets M words of the machine's own pass as well, such as one that tips a pen.
    pub fn also_m(mut self, numbers: impl IntoIterator<Item = u16>) -> Self {
        self.own_m.extend(numbers);
        self
    }

    /// How many lines were read.
    pub fn lines(&self) -> u64 {
        self.line
    }

    /// Was the program closed by its second `%`?
    pub fn closed(&self) -> bool {
        self.marks == Marks::Closed
    }

    /// The next block, or `None` where the program ends. Settings of parameters have taken effect when
    /// it comes back. After a refusal there is no sense in reading on.
    ///
    /// # Errors
    /// Those of the input; what is wrong with the program is a [`Refusal`].
    pub fn next_block(
        &mut self,
        parameters: &mut Parameters,
    ) -> io::Result<Option<Result<&Block, Refused>>> {
        let seen = loop {
            if self.marks == Marks::Closed {
                return Ok(None);
            }
            let Some(seen) = self.next_line(parameters)? else {
                return Ok(None);
            };
            match seen {
                Ok(Seen::Mark) => {}
                seen => break seen,
            }
        };
        Ok(Some(match seen {
            Ok(_) => Ok(&self.block),
            Err(mut refusal) => {
                refusal.line = self.line;
                Err(refusal)
            }
        }))
    }

    fn next_line(
        &mut self,
        parameters: &mut Parameters,
    ) -> io::Result<Option<Result<Seen, Refused>>> {
        let mut length = 0;
        loop {
            let buffer = match self.input.fill_buf() {
                Ok(buffer) => buffer,
                Err(error) if error.kind() == io::ErrorKind::Interrupted => continue,
                Err(error) => return Err(error),
            };
            let (part, taken, ended) = match buffer.iter().position(|&byte| byte == b'\n') {
                Some(end) => (&buffer[..end], end + 1, true),
                None => (buffer, buffer.len(), buffer.is_empty()),
            };
            if taken == 0 && length == 0 {
                return Ok(None);
            }
            let whole = ended && length == 0;
            length += part.len();
            if !whole {
                let room = (LONGEST_LINE + 2).saturating_sub(self.carry.len()).min(part.len());
                self.carry.extend_from_slice(&part[..room]);
            }
            if !ended {
                self.input.consume(taken);
                continue;
            }
            self.line += 1;
            let text = if whole { part } else { &self.carry };
            let text = text.strip_suffix(b"\r").unwrap_or(text);
            self.block.line = self.line;
            self.block.length = text.len();
            let seen = if text.len() > LONGEST_LINE {
                refuse_long_line(length)
            } else {
                let mut line = Line { at: Cursor { text, at: 0 }, groups: 0, m_words: 0 };
                line.read(&mut self.block, parameters, &mut self.marks, &self.own_m)
            };
            self.carry.clear();
            self.input.consume(taken);
            return Ok(Some(seen));
        }
    }
}

#[cold]
fn refuse_long_line(length: usize) -> Result<Seen, Refused> {
    let message =
        format!("the line has {length} characters, and the standard allows {LONGEST_LINE}");
    Err(Box::new(Refusal { rule: Rule::LineOver256, line: 0, column: 0, message }))
}

/// Groups of words that exclude each other on a line; those of G words first (pages 19, 20).
#[derive(Clone, Copy)]
enum Group {
    Once,
    Motion,
    Plane,
    Distance,
    FeedMode,
    Units,
    Compensation,
    LengthOffset,
    Retract,
    System,
    Path,
    Stop,
    ChangeTool,
    Spindle,
    Coolant,
    Override,
    OwnM,
}

/// One line while it is read.
struct Line<'t> {
    at: Cursor<'t>,
    groups: u32,
    m_words: usize,
}

impl Line<'_> {
    fn read(
        &mut self,
        block: &mut Block,
        parameters: &mut Parameters,
        marks: &mut Marks,
        own_m: &[u16],
    ) -> Result<Seen, Refused> {
        block.clear();
        parameters.forget_waiting();
        if self.at.peek() == Some(b'%') {
            return self.mark(marks);
        }
        if self.at.peek() == Some(b'/') {
            self.at.at += 1;
            block.optional = Some(Optional);
        }
        if let Some(b'N' | b'n') = self.at.peek() {
            *marks = marks.without();
            self.line_number()?;
        }
        while let Some(byte) = self.at.peek() {
            let start = self.at.at;
            match byte {
                b'a'..=b'z' | b'A'..=b'Z' => {
                    self.at.at += 1;
                    self.word(byte.to_ascii_uppercase(), start, block, parameters, own_m)?;
                }
                b'(' => self.comment(block)?,
                b';' => {
                    block.keep_comment(&self.at.text[start..], 1, 0);
                    self.at.at = self.at.text.len();
                }
                b'#' => self.setting(parameters)?,
                _ => return self.refuse_sign(byte, start),
            }
        }
        if *marks == Marks::Undecided && self.at.text.iter().any(|b| !b.is_ascii_whitespace()) {
            *marks = Marks::Without;
        }
        parameters.settle();
        Ok(Seen::Block)
    }

    /// `%` alone on a line.
    fn mark(&mut self, marks: &mut Marks) -> Result<Seen, Refused> {
        let start = self.at.at;
        self.at.at += 1;
        let alone = self.at.peek().is_none();
        *marks = match marks {
            Marks::Undecided if alone => Marks::Opened,
            Marks::Opened if alone => Marks::Closed,
            _ => {
                let message = "% stands alone on the first and the last line, or nowhere".into();
                return self.at.refuse(Rule::PercentMisplaced, start, message);
            }
        };
        Ok(Seen::Mark)
    }

    /// N and one to five digits (page 15). What it is means nothing.
    fn line_number(&mut self) -> Result<(), Refused> {
        let start = self.at.at;
        self.at.at += 1;
        let mut digits = 0;
        while self.at.peek().is_some_and(|byte| byte.is_ascii_digit()) {
            self.at.at += 1;
            digits += 1;
        }
        if (1..=5).contains(&digits) {
            return Ok(());
        }
        self.at.refuse(Rule::LineNumber, start, "N needs one to five digits".into())
    }

    fn comment(&mut self, block: &mut Block) -> Result<(), Refused> {
        let start = self.at.at;
        let rest = &self.at.text[start + 1..];
        match rest.iter().position(|byte| matches!(byte, b'(' | b')')) {
            Some(end) if rest[end] == b')' => {
                self.at.at = start + end + 2;
                block.keep_comment(&self.at.text[start..self.at.at], 1, 1);
                Ok(())
            }
            Some(end) => {
                let message = "a ( stands inside a comment".into();
                self.at.refuse(Rule::CommentNested, start + 1 + end, message)
            }
            None => self.at.refuse(Rule::CommentOpen, start, "the comment is not closed".into()),
        }
    }

    /// `#n = value`
    fn setting(&mut self, parameters: &mut Parameters) -> Result<(), Refused> {
        let start = self.at.at;
        let number = self.at.parameter_number(parameters)?;
        if self.at.peek() != Some(b'=') {
            let message = format!("#{number} stands alone: a setting is written #{number}=…");
            return self.at.refuse(Rule::BadExpression, start, message);
        }
        self.at.at += 1;
        let value = self.at.real(parameters)?;
        if number >= Parameters::CONTROLLER {
            let message =
                format!("#{number} belongs to the controller, which moves its zeros by it");
            return self.at.refuse(Rule::NotRehearsed, start, message);
        }
        parameters.wait(number, value);
        Ok(())
    }

    #[inline]
    fn word(
        &mut self,
        letter: u8,
        start: usize,
        block: &mut Block,
        parameters: &Parameters,
        own_m: &[u16],
    ) -> Result<(), Refused> {
        if letters(b"ENOUVW") & letters(&[letter]) != 0 {
            return self.refuse_letter(letter, start);
        }
        let value = self.at.real(parameters)?;
        match letter {
            b'G' => return self.g(value, start, block),
            b'M' => return self.m(value, start, block, own_m),
            _ => {}
        }
        if block.letters & letters(&[letter]) != 0 {
            let message = format!("{} stands twice on the line", char::from(letter));
            return self.at.refuse(Rule::LetterTwice, start, message);
        }
        // What no machine can mean would only upset the arithmetic further on.
        if value.abs() > 1e9 {
            let message = format!("{}{value} is beyond all machines", char::from(letter));
            return self.at.refuse(Rule::NumberOutOfRange, start, message);
        }
        if value < 0.0 && letters(b"DFHPST") & letters(&[letter]) != 0 {
            let message = format!("{} is below nought", char::from(letter));
            return self.at.refuse(Rule::Negative, start, message);
        }
        if letters(b"DHT") & letters(&[letter]) != 0 && whole(value).is_none() {
            let message = format!("{} needs a whole number", char::from(letter));
            return self.at.refuse(Rule::NotWhole, start, message);
        }
        block.letters |= letters(&[letter]);
        block.values[usize::from(letter - b'A')] = value + 0.0;
        Ok(())
    }

    /// Notes that a group speaks on this line, which it may do once.
    #[inline]
    fn group(&mut self, group: Group, start: usize) -> Result<(), Refused> {
        let bit = 1 << group as u32;
        if self.groups & bit != 0 {
            let message = match group {
                Group::Motion => {
                    "a second motion word on the line; controllers differ in which one they obey"
                }
                _ => "two words of one group stand on the line: one would undo the other",
            };
            return self.at.refuse(Rule::GroupClash, start, message.into());
        }
        self.groups |= bit;
        Ok(())
    }

    #[inline]
    fn g(&mut self, value: f64, start: usize, block: &mut Block) -> Result<(), Refused> {
        let Some(tenths) = whole(value * 10.0) else {
            return self.refuse_g(value, start);
        };
        let modes = &mut block.modes;
        let group = match tenths {
            0 => Group::Motion.and(&mut modes.motion, Motion::Rapid),
            10 => Group::Motion.and(&mut modes.motion, Motion::Feed),
            20 => Group::Motion.and(&mut modes.motion, Motion::ArcCw),
            30 => Group::Motion.and(&mut modes.motion, Motion::ArcCcw),
            800 => Group::Motion.and(&mut modes.motion, Motion::Nothing),
            810 => Group::Motion.and(&mut modes.motion, Motion::Cycle(Cycle::Drill)),
            820 => Group::Motion.and(&mut modes.motion, Motion::Cycle(Cycle::DrillAndWait)),
            830 => Group::Motion.and(&mut modes.motion, Motion::Cycle(Cycle::Peck)),
            170 => Group::Plane.and(&mut modes.plane, Plane::Xy),
            180 => Group::Plane.and(&mut modes.plane, Plane::Zx),
            190 => Group::Plane.and(&mut modes.plane, Plane::Yz),
            200 => Group::Units.and(&mut modes.units, Units::Inches),
            210 => Group::Units.and(&mut modes.units, Units::Millimetres),
            400 => Group::Compensation,
            430 => Group::LengthOffset.and(&mut modes.length_offset, LengthOffset::Use),
            490 => Group::LengthOffset.and(&mut modes.length_offset, LengthOffset::Cancel),
            540 | 550 | 560 | 570 | 580 | 590 => {
                Group::System.and(&mut modes.system, ((tenths - 530) / 10) as u8)
            }
            591..=593 => Group::System.and(&mut modes.system, (tenths - 584) as u8),
            610 => Group::Path.and(&mut modes.path, PathMode::Exact),
            611 => Group::Path.and(&mut modes.path, PathMode::ExactStop),
            640 => Group::Path.and(&mut modes.path, PathMode::Blended),
            900 => Group::Distance.and(&mut modes.distance, Distance::Absolute),
            910 => Group::Distance.and(&mut modes.distance, Distance::Incremental),
            930 => Group::FeedMode.and(&mut modes.feed_mode, FeedMode::InverseTime),
            940 => Group::FeedMode.and(&mut modes.feed_mode, FeedMode::PerMinute),
            980 => Group::Retract.and(&mut modes.retract, Retract::OldHeight),
            990 => Group::Retract.and(&mut modes.retract, Retract::RHeight),
            40 => Group::Once.and(&mut modes.once, Once::Dwell),
            100 => Group::Once.and(&mut modes.once, Once::SetSystem),
            280 => Group::Once.and(&mut modes.once, Once::Home),
            300 => Group::Once.and(&mut modes.once, Once::SecondHome),
            530 => Group::Once.and(&mut modes.once, Once::MachineMove),
            920 => Group::Once.and(&mut modes.once, Once::Shift),
            921 => Group::Once.and(&mut modes.once, Once::DropShift),
            922 => Group::Once.and(&mut modes.once, Once::SuspendShift),
            923 => Group::Once.and(&mut modes.once, Once::ResumeShift),
            _ => return self.refuse_g(value, start),
        };
        self.group(group, start)
    }

    fn m(
        &mut self,
        value: f64,
        start: usize,
        block: &mut Block,
        own_m: &[u16],
    ) -> Result<(), Refused> {
        let number = whole(value).and_then(|n| u16::try_from(n).ok());
        let Some(number) = number else {
            return self.refuse_m(value, start);
        };
        let Some(place) = block.m.get_mut(self.m_words) else {
            let message = "a fifth M word on the line".into();
            return self.at.refuse(Rule::TooManyM, start, message);
        };
        *place = Some(number);
        self.m_words += 1;
        let modes = &mut block.modes;
        let group = match number {
            0 | 60 => Group::Stop.and(&mut modes.stop, Stop::Pause),
            1 => Group::Stop.and(&mut modes.stop, Stop::PauseIfSwitched),
            2 | 30 => Group::Stop.and(&mut modes.stop, Stop::End),
            3 => Group::Spindle.and(&mut modes.spindle, SpindleWord::Forward),
            4 => Group::Spindle.and(&mut modes.spindle, SpindleWord::Reverse),
            5 => Group::Spindle.and(&mut modes.spindle, SpindleWord::Stop),
            6 => Group::ChangeTool.and(&mut modes.change_tool, ChangeTool),
            7..=9 => Group::Coolant,
            48 | 49 => Group::Override,
            _ if own_m.contains(&number) => Group::OwnM,
            _ => return self.refuse_m(value, start),
        };
        self.group(group, start)
    }

    #[cold]
    fn refuse_sign(&self, byte: u8, start: usize) -> Result<Seen, Refused> {
        let (rule, message) = match byte {
            b')' => (Rule::CommentStray, "a ) stands outside any comment".to_string()),
            b'%' => (Rule::PercentMisplaced, "% stands within a line".to_string()),
            b'/' => (Rule::UnknownSign, "/ stands elsewhere than first on the line".to_string()),
            b'$' => (Rule::UnknownSign, "$ begins a setting of one controller's own".to_string()),
            b'*' => {
                (Rule::UnknownSign, "* begins a checksum, which the standard has not".to_string())
            }
            b'!'..=b'~' => (Rule::UnknownSign, format!("{} means nothing here", char::from(byte))),
            b'\r' => {
                (Rule::NotText, "a line end of one sign, CR, stands within the line".to_string())
            }
            _ => (Rule::NotText, format!("byte {byte} is not text of a program")),
        };
        self.at.refuse(rule, start, message)
    }

    #[cold]
    fn refuse_letter(&self, letter: u8, start: usize) -> Result<(), Refused> {
        let (rule, message) = match letter {
            b'N' => (Rule::LineNumber, "N stands elsewhere than first on the line"),
            b'O' => (Rule::NotRehearsed, "O words (subprograms and loops) are not rehearsed"),
            b'U' => (Rule::UnknownLetter, "there is no U; to wait, write G4 and P"),
            b'E' => (Rule::UnknownLetter, "there is no E, and no exponents in numbers"),
            _ => (Rule::UnknownLetter, "the standard has no V and no W"),
        };
        self.at.refuse(rule, start, message.into())
    }

    #[cold]
    fn refuse_g(&self, value: f64, start: usize) -> Result<(), Refused> {
        let known =
            KNOWN_BUT_NOT_DONE.iter().find(|(tenths, ..)| whole(value * 10.0) == Some(*tenths));
        let (rule, message) = match known {
            Some((_, rule, message)) => (*rule, format!("G{value} {message}")),
            None => (Rule::UnknownG, format!("the standard has no G{value}")),
        };
        self.at.refuse(rule, start, message)
    }

    #[cold]
    fn refuse_m(&self, value: f64, start: usize) -> Result<(), Refused> {
        self.at.refuse(Rule::UnknownM, start, format!("the standard has no M{value}"))
    }
}

impl Group {
    #[inline]
    fn and<T>(self, place: &mut Option<T>, said: T) -> Group {
        *place = Some(said);
        self
    }
}

/// G words that are refused with more to say than that they are unknown, by tenths.
const KNOWN_BUT_NOT_DONE: [(i64, Rule, &str); 15] = [
    (
        382,
        Rule::NotRehearsed,
        "(probing) ends where the probe touches, which nobody can know before",
    ),
    (410, Rule::NotRehearsed, "(cutter compensation) is not rehearsed"),
    (420, Rule::NotRehearsed, "(cutter compensation) is not rehearsed"),
    (840, Rule::NotRehearsed, "(tapping) is not rehearsed"),
    (850, Rule::NotRehearsed, "(boring cycle) is not rehearsed"),
    (860, Rule::NotRehearsed, "(boring cycle) is not rehearsed"),
    (870, Rule::NotRehearsed, "(back boring) is not rehearsed"),
    (880, Rule::NotRehearsed, "(boring cycle with a pause) is not rehearsed"),
    (890, Rule::NotRehearsed, "(boring cycle) is not rehearsed"),
    (520, Rule::UnknownG, "(local zero) is not in the standard"),
    (700, Rule::UnknownG, "is another dialect's word for inches: write G20"),
    (710, Rule::UnknownG, "is another dialect's word for millimetres: write G21"),
    (901, Rule::UnknownG, "makes arc centres absolute, which the standard has not"),
    (911, Rule::UnknownG, "speaks of arc centres, which the standard always takes from the start"),
    (950, Rule::UnknownG, "(feed per turn) is not in the standard"),
];

impl Marks {
    fn without(self) -> Marks {
        if self == Marks::Undecided { Marks::Without } else { self }
    }
}

impl Block {
    #[inline]
    fn clear(&mut self) {
        self.optional = None;
        self.modes = Modes::default();
        self.m = [None; 4];
        self.letters = 0;
        self.comments.clear();
        self.last_comment = 0..0;
    }

    /// `whole` with its signs, of which `before` and `after` do not belong to the text.
    fn keep_comment(&mut self, whole: &[u8], before: usize, after: usize) {
        let start = self.comments.len();
        self.comments.extend_from_slice(whole);
        self.last_comment = start + before..self.comments.len() - after;
    }
}
