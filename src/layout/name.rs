//! What a button, its holes and its marks are called.

use std::fmt;

/// The most letters that a name of its own has.
pub const LONGEST_NAME: usize = 8;

/// A button's name, or that of a hole of the board.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Name {
    /// In a pattern: row and column, counted from 1 at the top left of the front.
    InRow { row: u32, column: u32 },
    /// A name of its own, in ASCII letters; what is left of it is nought.
    Own([u8; LONGEST_NAME]),
}

impl Name {
    pub const fn in_row(row: u32, column: u32) -> Self {
        Name::InRow { row, column }
    }

    /// A name of its own; `None` if it is empty, too long, or not of plain letters, figures, - and _.
    pub fn own(text: &str) -> Option<Self> {
        let plain = |c: u8| c.is_ascii_alphanumeric() || c == b'-' || c == b'_';
        if text.is_empty() || text.len() > LONGEST_NAME || !text.bytes().all(plain) {
            return None;
        }
        let mut letters = [0; LONGEST_NAME];
        letters[..text.len()].copy_from_slice(text.as_bytes());
        Some(Name::Own(letters))
    }

    /// Its row; what has a name of its own counts as one row.
    pub const fn row(self) -> u32 {
        match self {
            Name::InRow { row, .. } => row,
            Name::Own(_) => 1,
        }
    }

    /// Its place in the row, or nought for a name of its own.
    pub const fn column(self) -> u32 {
        match self {
            Name::InRow { column, .. } => column,
            Name::Own(_) => 0,
        }
    }
}

impl fmt::Display for Name {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        match self {
            Name::InRow { row, column } => write!(f, "{row}-{column}"),
            Name::Own(letters) => {
                let letters = letters.iter().take_while(|c| **c != 0);
                letters.into_iter().try_for_each(|c| write!(f, "{}", char::from(*c)))
            }
        }
    }
}

/// Names for a person to read; three and more side by side in a row as "2-1 to 2-9".
pub fn listed(names: &[Name]) -> String {
    let beside = |a: &Name, b: &Name| match (a, b) {
        (Name::InRow { row, column }, Name::InRow { row: r, column: c }) => {
            r == row && *c == column + 1
        }
        _ => false,
    };
    let run = |run: &[Name]| match run {
        [first, _, .., last] => format!("{first} to {last}"),
        few => few.iter().map(Name::to_string).collect::<Vec<_>>().join(", "),
    };
    names.chunk_by(beside).map(run).collect::<Vec<_>>().join(", ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn runs_of_a_row_are_told_by_their_ends() {
        let row = |row, columns: std::ops::RangeInclusive<u32>| {
            columns.map(move |c| Name::in_row(row, c))
        };
        let mut names: Vec<Name> =
            row(1, 1..=5).chain(row(2, 1..=2)).chain(row(2, 4..=4)).collect();
        names.extend(row(3, 5..=7));
        names.extend(Name::own("A1"));
        assert_eq!(listed(&names), "1-1 to 1-5, 2-1, 2-2, 2-4, 3-5 to 3-7, A1");
        assert_eq!(listed(&names[..1]), "1-1");
        assert_eq!(listed(&[]), "");
    }
}
