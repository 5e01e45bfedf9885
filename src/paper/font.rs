//! The letters: two weights of one open font, and only those letters that are used.
//!
//! Open Sans, Apache License 2.0, whole and unchanged in `font/`.

use std::collections::BTreeMap;
use subsetter::GlyphRemapper;

static REGULAR: &[u8] = include_bytes!("font/OpenSans-Regular.ttf");
static SEMIBOLD: &[u8] = include_bytes!("font/OpenSans-Semibold.ttf");

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Face {
    Plain,
    Bold,
}

impl Face {
    pub const ALL: [Face; 2] = [Face::Plain, Face::Bold];

    /// What a page calls it.
    pub(super) fn name(self) -> &'static [u8] {
        match self {
            Face::Plain => b"Plain",
            Face::Bold => b"Bold",
        }
    }
}

/// One face, and what was used of it.
pub(super) struct Font {
    pub data: &'static [u8],
    pub face: ttf_parser::Face<'static>,
    pub remapper: GlyphRemapper,
    /// The letter that each glyph of the embedded part stands for.
    pub letters: BTreeMap<u16, char>,
}

pub(super) struct Fonts {
    fonts: [Font; 2],
}

impl Fonts {
    pub fn new() -> Self {
        let font = |data| Font {
            data,
            face: ttf_parser::Face::parse(data, 0).expect("the font that comes with the tool"),
            remapper: GlyphRemapper::new(),
            letters: BTreeMap::new(),
        };
        Fonts { fonts: [font(REGULAR), font(SEMIBOLD)] }
    }

    pub fn get(&self, face: Face) -> &Font {
        &self.fonts[face as usize]
    }

    /// Width of a text of size 1.
    pub fn width(&self, text: &str, face: Face) -> f64 {
        let font = self.get(face);
        spelled(font, text).map(|(glyph, _)| font.advance(glyph)).sum()
    }

    /// A text as the numbers of its glyphs in the embedded part, two bytes each.
    pub fn glyphs(&mut self, text: &str, face: Face) -> Vec<u8> {
        let spelled: Vec<_> = spelled(self.get(face), text).collect();
        let font = &mut self.fonts[face as usize];
        let mut bytes = Vec::with_capacity(2 * spelled.len());
        for (glyph, letter) in spelled {
            let number = font.remapper.remap(glyph.0);
            font.letters.insert(number, letter);
            bytes.extend(number.to_be_bytes());
        }
        bytes
    }
}

impl Font {
    /// How far a glyph of size 1 moves the pen on.
    pub fn advance(&self, glyph: ttf_parser::GlyphId) -> f64 {
        let advance = self.face.glyph_hor_advance(glyph).unwrap_or(0);
        f64::from(advance) / f64::from(self.face.units_per_em())
    }
}

/// Glyphs of a text. A letter that the font does not hold is spelled with letters that it does.
fn spelled<'a>(
    font: &'a Font,
    text: &'a str,
) -> impl Iterator<Item = (ttf_parser::GlyphId, char)> + 'a {
    text.chars().flat_map(move |letter| {
        let held = |c: char| font.face.glyph_index(c).map(|glyph| (glyph, c));
        match held(letter) {
            Some(glyph) => vec![glyph],
            None => {
                let plain = deunicode::deunicode_char(letter).unwrap_or("?");
                plain.chars().filter_map(held).collect()
            }
        }
    })
}
