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
        let semicolon = block.comments()[0] == b';';
        if semicolon != (self.machine.speech.comments == Comments::Semicolon) {
            self.report.doubt(Doubt::CommentStyle, line, || {
                "this controller's file says that comments are written the other way".to_string()
            });
        }
        if self.head == Head::Open
            && let Some(stated) = stated_work(block.comment())
        {
            self.stated_work = Some(stated);
            match self.given_work {
                None => {
                    self.guard.work = Some(stated);
                    self.zeros.lay_work(self.machine, stated.thickness);
                }
                Some(given) if given != stated => {
                    self.report.doubt(Doubt::WorkStatedOtherwise, line, || {
                        "the program's head states another size of work than you gave".to_string()
                    });
                }
                Some(_) => {}
            }
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
    let size = WorkSize { x: side()?, y: side()?, thickness: side()? };
    sides.next().is_none().then_some(size)
}
