//! What is wrong with a user's file: the place, plain words, and what to write instead.
//!
//! A [`Diagnostic`] is for people. Nothing matches on one.

use annotate_snippets::{AnnotationKind, Group, Level, Renderer, Snippet};
use std::ops::Range;

/// A file as it was read, kept so that a message can show the place.
#[derive(Debug, Clone)]
pub struct Source {
    pub name: String,
    pub text: String,
}

/// A value with its place in the user's file, so that a later room can point at it.
/// A value filled in by default has the place of its table.
#[derive(Debug, Clone, PartialEq)]
pub struct Given<T> {
    pub value: T,
    pub span: Range<usize>,
}

/// One thing that is wrong, or worth a warning.
#[derive(Debug, Clone, PartialEq)]
pub struct Diagnostic {
    /// Bytes of the file that are meant; `None` speaks of the file as a whole.
    pub span: Option<Range<usize>>,
    pub message: String,
    /// What to write instead.
    pub help: Option<String>,
}

impl Diagnostic {
    pub fn at(span: Range<usize>, message: impl Into<String>) -> Self {
        Diagnostic { span: Some(span), message: message.into(), help: None }
    }

    pub fn whole_file(message: impl Into<String>) -> Self {
        Diagnostic { span: None, message: message.into(), help: None }
    }

    pub fn help(mut self, help: impl Into<String>) -> Self {
        self.help = Some(help.into());
        self
    }
}

/// All the diagnostics of one file, in the order of their places, as text for a terminal.
/// Colour is stripped by the stream where nobody would see it.
pub fn render(source: &Source, diagnostics: &[Diagnostic]) -> String {
    let mut in_order: Vec<&Diagnostic> = diagnostics.iter().collect();
    in_order.sort_by_key(|d| d.span.as_ref().map_or(0, |s| s.start));
    let reports: Vec<String> = in_order.iter().map(|d| one(source, d)).collect();
    reports.join("\n\n") + "\n"
}

fn one(source: &Source, d: &Diagnostic) -> String {
    let title = Level::ERROR.primary_title(&d.message);
    let mut group = match &d.span {
        Some(span) => Group::with_title(title).element(
            Snippet::source(&source.text)
                .path(&source.name)
                .annotation(AnnotationKind::Primary.span(span.clone())),
        ),
        None => Group::with_title(title).element(annotate_snippets::Origin::path(&source.name)),
    };
    if let Some(help) = &d.help {
        group = group.element(Level::HELP.message(help));
    }
    Renderer::styled().render(&[group])
}
