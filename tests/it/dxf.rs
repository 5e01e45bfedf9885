//! Drawings read back by a reader that shares nothing with the writer, the crate `dxf`.

use bradawl::{
    emit::dxf::{Closing, Drawing, Layer, Shape, write},
    outline::Corner,
};
use dxf::entities::{Entity, EntityType};
use proptest::{collection::vec, prelude::*};

const LAYERS: [&str; 3] = ["OUTLINE", "HOLES-8MM", "NOTES"];

fn drawing(shapes: Vec<Shape>) -> Drawing {
    let layers =
        LAYERS.iter().zip([7, 1, 3]).map(|(name, colour)| Layer { name: name.to_string(), colour });
    Drawing { title: "board - Café".to_string(), layers: layers.collect(), shapes }
}

fn small() -> Drawing {
    let corners = [[0.0, 0.0], [300.0, 0.0], [300.0, 200.0], [0.0, 200.0]];
    drawing(vec![
        Shape::Polyline { layer: 0, points: corners.to_vec(), closing: Closing::Closed },
        Shape::Polyline { layer: 0, points: corners[..3].to_vec(), closing: Closing::Open },
        Shape::Circle { layer: 1, centre: [100.0, 66.666_666_7], radius: 4.0 },
        Shape::Circle { layer: 1, centre: [200.0, 133.333_333_3], radius: 4.0 },
        Shape::Line { layer: 0, from: [150.0, -1e-9], to: [150.0, 200.0] },
        text("board - Café, 12 mm"),
    ])
}

fn text(text: &str) -> Shape {
    Shape::Text { layer: 2, at: [0.0, -12.8], height: 8.0, text: text.to_string() }
}

fn read(drawing: &Drawing) -> dxf::Drawing {
    dxf::Drawing::load(&mut write(drawing).as_slice()).expect("it can be read")
}

/// A shape as the other reader found it, layer names turned back to places.
fn found(entity: &Entity) -> Shape {
    let layer = LAYERS.iter().position(|l| *l == entity.common.layer).expect("a layer of ours");
    let at = |p: &dxf::Point| {
        assert_eq!(p.z, 0.0);
        [p.x, p.y]
    };
    match &entity.specific {
        EntityType::Circle(c) => Shape::Circle { layer, centre: at(&c.center), radius: c.radius },
        EntityType::Line(l) => Shape::Line { layer, from: at(&l.p1), to: at(&l.p2) },
        EntityType::Polyline(p) if p.vertices().any(|v| v.bulge != 0.0) => {
            assert!(p.is_closed());
            let corner = |v: &dxf::entities::Vertex| Corner { at: at(&v.location), bulge: v.bulge };
            Shape::Outline { layer, corners: p.vertices().map(corner).collect() }
        }
        EntityType::Polyline(p) => Shape::Polyline {
            layer,
            points: p.vertices().map(|v| at(&v.location)).collect(),
            closing: if p.is_closed() { Closing::Closed } else { Closing::Open },
        },
        EntityType::Text(t) => {
            let text = t.value.clone();
            Shape::Text { layer, at: at(&t.location), height: t.text_height, text }
        }
        other => panic!("nobody drew {other:?}"),
    }
}

/// All numbers of a shape, and all else of it, so that the two can be compared each in its way.
fn taken_apart(shape: &Shape) -> (Vec<f64>, String) {
    match shape {
        Shape::Circle { layer, centre, radius } => {
            (vec![centre[0], centre[1], *radius], format!("circle on {layer}"))
        }
        Shape::Line { layer, from, to } => ([*from, *to].concat(), format!("line on {layer}")),
        Shape::Polyline { layer, points, closing } => {
            (points.concat(), format!("polyline on {layer}, {closing:?}"))
        }
        Shape::Outline { layer, corners } => (
            corners.iter().flat_map(|c| [c.at[0], c.at[1], c.bulge]).collect(),
            format!("outline on {layer}"),
        ),
        Shape::Text { layer, at, height, text } => {
            (vec![at[0], at[1], *height], format!("text on {layer}: {text}"))
        }
    }
}

fn assert_reads_back(drawing: &Drawing) {
    let read = read(drawing);
    let shapes: Vec<Shape> = read.entities().map(found).collect();
    assert_eq!(shapes.len(), drawing.shapes.len());
    for (read, drawn) in shapes.iter().zip(&drawing.shapes) {
        let ((a, what), (b, wanted)) = (taken_apart(read), taken_apart(drawn));
        assert_eq!(what, wanted);
        assert_eq!(a.len(), b.len(), "{what}");
        assert!(a.iter().zip(&b).all(|(a, b)| (a - b).abs() <= 1e-6), "{read:?} is not {drawn:?}");
    }
}

#[test]
fn a_small_drawing_is_written_as_before() {
    let text = String::from_utf8(write(&small())).expect("text");
    assert!(text.is_ascii(), "R12 is ASCII");
    assert_eq!(text.matches("\r\n").count(), text.matches('\n').count(), "lines end in CR LF");
    insta::assert_snapshot!("drawing", text.replace("\r\n", "\n"));
}

#[test]
fn a_small_drawing_reads_back_as_it_was_drawn() {
    assert_reads_back(&small());
}

#[test]
fn the_drawing_states_millimetres_its_layers_and_its_extents() {
    let read = read(&small());
    let header = &read.header;
    assert_eq!(header.version, dxf::enums::AcadVersion::R12);
    assert_eq!(header.default_drawing_units, dxf::enums::Units::Millimeters);
    assert_eq!(header.drawing_units, dxf::enums::DrawingUnits::Metric);
    let (low, high) =
        (header.minimum_drawing_extents.clone(), header.maximum_drawing_extents.clone());
    assert_eq!([low.x, low.y, high.x, high.y], [0.0, -12.8, 300.0, 200.0]);
    let layers: Vec<(&str, Option<u8>)> =
        read.layers().map(|l| (l.name.as_str(), l.color.index())).collect();
    let wanted = [("0", Some(7)), ("OUTLINE", Some(7)), ("HOLES-8MM", Some(1)), ("NOTES", Some(3))];
    assert_eq!(layers, wanted);
}

#[test]
fn text_keeps_every_letter_that_r12_can_spell() {
    for line in ["Ligne 36 – 22,86 mm – æøåß – ボタン", r"C:\U+0041 ^J ^ 5\", "50% of 8\" x 3'"]
    {
        assert_reads_back(&drawing(vec![text(line)]));
    }
    let written = |line| match found(read(&drawing(vec![text(line)])).entities().next().unwrap()) {
        Shape::Text { text, .. } => text,
        other => panic!("{other:?} is no text"),
    };
    // `%%d` would be read as a degree sign, `%%%` is read as one percent sign.
    assert_eq!(written("5 %%d"), "5 %%%%%%d");
    assert_eq!(written("a chair \u{1fa91}"), "a chair \u{fffd}");
}

#[test]
fn a_drawing_that_r12_cannot_hold_is_never_written() {
    let circle =
        |x, radius, layer| drawing(vec![Shape::Circle { layer, centre: [x, 0.0], radius }]);
    let line = |points: &[[f64; 2]], closing| {
        drawing(vec![Shape::Polyline { layer: 0, points: points.to_vec(), closing }])
    };
    let named = |name: &str| {
        let mut drawing = small();
        drawing.layers[1].name = name.to_string();
        drawing
    };
    let mut colourless = small();
    colourless.layers[0].colour = 0;
    let mut two_titles = small();
    two_titles.title = "one\ntwo".to_string();
    let wrong = [
        ("no shapes", drawing(vec![])),
        ("no number", circle(f64::NAN, 4.0, 0)),
        ("no end", circle(f64::INFINITY, 4.0, 0)),
        ("another continent", circle(2e9, 4.0, 0)),
        ("no radius", circle(0.0, 0.0, 0)),
        ("a radius of no number", circle(0.0, f64::NAN, 0)),
        ("a radius inside out", circle(0.0, -4.0, 0)),
        ("a layer that is not there", circle(0.0, 4.0, 3)),
        ("one point", line(&[[0.0, 0.0]], Closing::Open)),
        ("two points closed", line(&[[0.0, 0.0], [1.0, 0.0]], Closing::Closed)),
        ("lower case", named("holes")),
        ("a space", named("HOLES 8")),
        ("a point", named("HOLES-7.5MM")),
        ("no name", named("")),
        ("a long name", named("ABCDEFGHIJKLMNOPQRSTUVWXYZABCDEF")),
        ("the layer of the format", named("0")),
        ("twice the same name", named("OUTLINE")),
        ("colour 0", colourless),
        ("a title of two lines", two_titles),
        ("a text of two lines", drawing(vec![text("one\ntwo")])),
    ];
    for (why, drawing) in wrong {
        assert!(std::panic::catch_unwind(|| write(&drawing)).is_err(), "{why} was written");
    }
}

fn any_place() -> impl Strategy<Value = [f64; 2]> {
    [-1e6..1e6f64, -1e6..1e6f64]
}

fn any_shape() -> impl Strategy<Value = Shape> {
    let layer = 0..LAYERS.len();
    // Leading and trailing spaces are the reader's to keep or drop; `%` side by side has its own test.
    let words = "[a-z\\\\^é→]([ -$&-~é→]{0,20}[a-z\\\\^é→])?";
    prop_oneof![
        (layer.clone(), any_place(), 0.01..1e3f64)
            .prop_map(|(layer, centre, radius)| Shape::Circle { layer, centre, radius }),
        (layer.clone(), any_place(), any_place()).prop_map(|(layer, from, to)| Shape::Line {
            layer,
            from,
            to
        }),
        (
            layer.clone(),
            vec(any_place(), 3..8),
            prop_oneof![Just(Closing::Open), Just(Closing::Closed)]
        )
            .prop_map(|(layer, points, closing)| Shape::Polyline {
                layer,
                points,
                closing
            }),
        (layer.clone(), vec((any_place(), 0.01..1.0f64), 2..8)).prop_map(|(layer, corners)| {
            let corner = |(at, bulge)| Corner { at, bulge };
            Shape::Outline { layer, corners: corners.into_iter().map(corner).collect() }
        }),
        (layer, any_place(), 0.01..1e3f64, words)
            .prop_map(|(layer, at, height, text)| Shape::Text { layer, at, height, text }),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn any_drawing_reads_back_as_it_was_drawn(shapes in vec(any_shape(), 1..8)) {
        assert_reads_back(&drawing(shapes));
    }
}

/// Foam and wadding are drawn with the line they are cut along, so far beyond the board. Where foam goes beyond it, all
/// is counted from the foam's own corner, for that is what lies on the machine.
#[test]
fn soft_layers_are_drawn_with_their_overhang() {
    let text = crate::demo::job_text(&[
        ("foam", "[foam]\nthickness = 50\nhole = 30\noverhang = 5"),
        ("wadding", "[wadding]\nthickness = 8\noverhang = 60"),
    ]);
    let made = crate::demo::made(&crate::demo::job(&text));
    for (file, overhang) in [("foam.dxf", 5.0), ("wadding.dxf", 60.0)] {
        let read = dxf::Drawing::load(&mut made.files[file].as_slice()).expect("a drawing");
        let cut = read
            .entities()
            .find(|entity| entity.common.layer == "CUT-LINE")
            .unwrap_or_else(|| panic!("{file} has a line to cut along"));
        let dxf::entities::EntityType::Polyline(line) = &cut.specific else { panic!("{file}") };
        let along = |axis: fn(&dxf::entities::Vertex) -> f64| {
            let all: Vec<f64> = line.vertices().map(axis).collect();
            let ends = [f64::min, f64::max].map(|end| all.iter().copied().reduce(end));
            (ends[0].expect("corners"), ends[1].expect("corners"))
        };
        assert_eq!(along(|v| v.location.x), (5.0 - overhang, 725.0 + overhang), "{file}");
        assert_eq!(along(|v| v.location.y), (5.0 - overhang, 485.0 + overhang), "{file}");
    }
    let report = String::from_utf8(made.files["report.json"].clone()).expect("text");
    assert!(report.contains("840.0") || report.contains("840"), "the wadding to buy is larger");

    let flush = crate::demo::job(&text.replace("overhang = 5", "overhang = 0"));
    let flush = crate::demo::made(&flush).layout.foam.places;
    let program = String::from_utf8(made.files["foam.nc"].clone()).expect("text");
    assert!(program.contains("(work 730 x 490 x 50 mm)"), "{program}");
    for ((name, at), (_, before)) in made.layout.foam.places.iter().zip(&flush) {
        assert_eq!([at.x, at.y], [before.x + 5.0, before.y + 5.0], "{name:?}");
        assert!(program.contains(&format!("X{:.3} Y{:.3}", at.x, at.y)), "{name:?}");
    }
}
