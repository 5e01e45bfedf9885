//! What a line says beside its words: comments, and bytes that a controller may act on.

use super::*;

impl<W: FnMut(&Move)> Run<'_, W> {
    /// Length, comments and `/`: what a line is before what it says.
    pub(super) fn read_aloud(&mut self, block: &Block) {
        let (line, report) = (self.line, &mut self.report);
        let longest = self.machine.speech.line_length;
        if block.length > longest {
            report.danger(Danger::LineTooLong, line, || {
                format!("{} characters, and this controller holds {longest}", block.length)
            });
        }
        if block.optional.is_some() {
            report.doubt(Doubt::OptionalLine, line, || {
                "lines that begin with / run here; a controller may be switched to pass over them".into()
            });
        }
        if !block.comments().is_empty() {
            self.read_comments(block);
        }
    }

    #[cold]
    pub(super) fn read_comments(&mut self, block: &Block) {
        let line = self.line;
        let acted =
            |byte: &&u8| matches!(**byte, b'!' | b'~' | b'?' | b'%' | 0..=8 | 10..=31 | 127..);
        let bracketed = &block.comments()[..before_semicolon(block.comments())];
        let semicolon = bracketed.iter().find(|&&byte| byte == b';');
        if let Some(&byte) = block.comments().iter().find(acted).or(semicolon) {
            let sign = match byte {
                b'!'..=b'~' => format!("{} stands", char::from(byte)),
                _ => "a letter that is not plain ASCII stands".to_string(),
            };
            self.report.danger(Danger::ActedUpon, line, || format!("{sign} in a comment"));
        }
        let written = match block.comments()[0] {
            b';' => Comments::Semicolon,
            _ => Comments::Parentheses,
        };
        if written != self.machine.speech.comments {
            self.report.doubt(Doubt::CommentStyle, line, || {
                "this controller's file says that comments are written another way, or not at all"
                    .to_string()
            });
        }
        if self.head == Head::Closed {
            return;
        }
        if let Some(stated) = stated_work(block.comment()) {
            let same = |given: &WorkSize| WorkSize { at: [0.0; 2], ..*given } == stated;
            self.take_stated(stated, same);
        } else if let (Some(at), Some(stated)) = (stated_place(block.comment()), self.stated_work) {
            let stated = WorkSize { at, ..stated };
            self.take_stated(stated, |given| *given == stated);
        }
    }

    /// The head says what the work is: believed where nobody else has said, else compared.
    fn take_stated(&mut self, stated: WorkSize, same: impl Fn(&WorkSize) -> bool) {
        self.stated_work = Some(stated);
        match self.given_work {
            None => {
                self.guard.work = Some(stated);
                self.zeros.lay_work(self.machine, stated.thickness);
            }
            Some(given) if !same(&given) => {
                self.report.doubt(Doubt::WorkStatedOtherwise, self.line, || {
                    "the program's head states another size of work than you gave".to_string()
                });
            }
            Some(_) => {}
        }
    }
}

/// How much of a line's comments stands before the first `;` that is not itself in brackets.
fn before_semicolon(comments: &[u8]) -> usize {
    let mut inside = 0;
    let begins = |&byte: &u8| {
        inside += i32::from(byte == b'(') - i32::from(byte == b')');
        byte == b';' && inside == 0
    };
    comments.iter().position(begins).unwrap_or(comments.len())
}

/// `work 1400 x 600 x 12 mm`, in any case, alone in its comment.
fn stated_work(comment: &[u8]) -> Option<WorkSize> {
    let text = str::from_utf8(comment).ok()?.trim().to_ascii_lowercase();
    let sides = text.strip_prefix("work ")?.strip_suffix("mm")?;
    let mut sides = sides.split('x').map(|side| side.trim().parse::<f64>().ok());
    let mut side = || sides.next().flatten().filter(|side| (0.0..=1e6).contains(side));
    let size = WorkSize { x: side()?, y: side()?, thickness: side()?, at: [0.0; 2] };
    sides.next().is_none().then_some(size)
}

/// `lies at X -560 Y 0`, in any case, alone in its comment.
fn stated_place(comment: &[u8]) -> Option<[f64; 2]> {
    let text = str::from_utf8(comment).ok()?.trim().to_ascii_lowercase();
    let (x, y) = text.strip_prefix("lies at x")?.split_once('y')?;
    let place =
        |text: &str| text.trim().parse::<f64>().ok().filter(|place| (-1e6..=1e6).contains(place));
    Some([place(x)?, place(y)?])
}
