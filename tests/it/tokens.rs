//! Programs read by a reader that is not ours: the crate `g-code` finds the same words.

use crate::demo::{Demo, demos};
use g_code::{emit::Token, parse::file_parser};

/// The words of a program as written, comments left out.
fn words(text: &str) -> Vec<(char, f64)> {
    let mut words = Vec::new();
    for line in text.lines() {
        let code = line.split(['(', ';']).next().unwrap_or("");
        for word in code.split_whitespace() {
            let (letter, number) = word.split_at(1);
            words.push((
                letter.chars().next().expect("a letter"),
                number.parse().expect("a number"),
            ));
        }
    }
    words
}

#[test]
fn an_independent_reader_finds_the_same_words_in_every_program() {
    for Demo { name, made, .. } in demos() {
        for program in &made.programs {
            let text = program.verified.text();
            let file =
                file_parser(text).unwrap_or_else(|e| panic!("{name} {}: {e:?}", program.file));
            let found: Vec<(char, f64)> = file
                .iter_emit_tokens()
                .filter_map(|token| match token {
                    Token::Field(field) => {
                        let letter = field.letters.chars().next().expect("a letter");
                        Some((letter, field.value.as_f64().expect("a number")))
                    }
                    _ => None,
                })
                .collect();
            assert_eq!(found, words(text), "{name} {}", program.file);
        }
    }
}
