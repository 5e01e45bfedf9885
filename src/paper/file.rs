//! Pages and fonts as one file: PDF 1.7, ISO 32000-1.

use super::{Face, POINT, Printed, font::Fonts};
use miniz_oxide::deflate::compress_to_vec_zlib;
use pdf_writer::{
    Filter, Finish, Name, Pdf, Rect, Ref, Str, TextStr,
    types::{CidFontType, FontFlags, SystemInfo, UnicodeCmap},
};

/// How hard streams are packed: 0 to 10.
const PACKED: u8 = 7;
/// Widths of a font inside a PDF are in thousandths of its size.
const EM: f64 = 1000.0;

const IDENTITY: SystemInfo =
    SystemInfo { registry: Str(b"Adobe"), ordering: Str(b"Identity"), supplement: 0 };

/// Numbers of the file's objects, in the order in which they are asked for.
struct Numbers(i32);

impl Numbers {
    fn next(&mut self) -> Ref {
        self.0 += 1;
        Ref::new(self.0)
    }
}

pub(super) fn write(
    title: &str,
    printed: Printed,
    fonts: Fonts,
    pages: Vec<([f64; 2], pdf_writer::Buf)>,
) -> Vec<u8> {
    let mut numbers = Numbers(0);
    let (catalog, tree, info) = (numbers.next(), numbers.next(), numbers.next());
    let mut pdf = Pdf::new();
    let mut root = pdf.catalog(catalog);
    root.pages(tree).lang(TextStr("en"));
    let mut viewer = root.viewer_preferences();
    viewer.display_doc_title(true);
    if printed == Printed::FullSize {
        viewer.pair(Name(b"PrintScaling"), Name(b"None"));
    }
    viewer.finish();
    root.finish();
    pdf.document_info(info).title(TextStr(title)).creator(TextStr("bradawl"));
    let face_refs = Face::ALL.map(|_| numbers.next());
    let page_refs: Vec<[Ref; 2]> = pages.iter().map(|_| [numbers.next(), numbers.next()]).collect();
    pdf.pages(tree).kids(page_refs.iter().map(|[page, _]| *page)).count(page_refs.len() as i32);
    for (([w, h], content), [number, stream]) in pages.iter().zip(&page_refs) {
        let mut page = pdf.page(*number);
        let [w, h] = [w, h].map(|mm| (mm / POINT) as f32);
        page.parent(tree).media_box(Rect::new(0.0, 0.0, w, h)).contents(*stream);
        let mut resources = page.resources();
        let mut named = resources.fonts();
        for (face, number) in Face::ALL.into_iter().zip(face_refs) {
            named.pair(Name(face.name()), number);
        }
        named.finish();
        resources.finish();
        page.finish();
        pdf.stream(*stream, &compress_to_vec_zlib(content, PACKED)).filter(Filter::FlateDecode);
    }
    for (face, number) in Face::ALL.into_iter().zip(face_refs) {
        embed(&mut pdf, &mut numbers, number, &fonts, face);
    }
    pdf.finish()
}

/// The used part of a face, as a font with two bytes a letter.
fn embed(pdf: &mut Pdf, numbers: &mut Numbers, whole: Ref, fonts: &Fonts, face: Face) {
    let font = fonts.get(face);
    let [cid, descriptor, letters, data] = [(); 4].map(|()| numbers.next());
    let name: &[u8] = match face {
        Face::Plain => b"BRADWL+OpenSans-Regular",
        Face::Bold => b"BRADWL+OpenSans-Semibold",
    };
    let em = |units: i16| (f64::from(units) / f64::from(font.face.units_per_em()) * EM) as f32;
    pdf.type0_font(whole)
        .base_font(Name(name))
        .encoding_predefined(Name(b"Identity-H"))
        .descendant_font(cid)
        .to_unicode(letters);
    let mut cid_font = pdf.cid_font(cid);
    cid_font.subtype(CidFontType::Type2).base_font(Name(name)).system_info(IDENTITY);
    cid_font.font_descriptor(descriptor).default_width(0.0);
    cid_font.cid_to_gid_map_predefined(Name(b"Identity"));
    let advances =
        font.remapper.remapped_gids().map(|gid| font.advance(ttf_parser::GlyphId(gid)) * EM);
    cid_font.widths().consecutive(0, advances.map(|width| width.round() as f32));
    cid_font.finish();
    let bounds = font.face.global_bounding_box();
    pdf.font_descriptor(descriptor)
        .name(Name(name))
        .flags(FontFlags::NON_SYMBOLIC)
        .bbox(Rect::new(em(bounds.x_min), em(bounds.y_min), em(bounds.x_max), em(bounds.y_max)))
        .italic_angle(0.0)
        .ascent(em(font.face.ascender()))
        .descent(em(font.face.descender()))
        .cap_height(em(font.face.capital_height().unwrap_or(font.face.ascender())))
        .stem_v(if face == Face::Bold { 130.0 } else { 90.0 })
        .font_file2(data);
    let mut map = UnicodeCmap::<u16>::new(Name(b"Letters"), IDENTITY);
    for (&glyph, &letter) in &font.letters {
        map.pair(glyph, letter);
    }
    let map = map.finish();
    pdf.cmap(letters, &compress_to_vec_zlib(&map, PACKED)).filter(Filter::FlateDecode);
    let part =
        subsetter::subset(font.data, 0, &font.remapper).expect("a sound font can be cut down");
    let packed = compress_to_vec_zlib(&part, PACKED);
    pdf.stream(data, &packed).filter(Filter::FlateDecode).pair(Name(b"Length1"), part.len() as i32);
}
