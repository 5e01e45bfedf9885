//! Lengths and speeds as they are written at the bench.

use approx::assert_abs_diff_eq;
use bradawl::units::{Unit, length, speed};

fn mm(text: &str) -> f64 {
    length(text, Unit::Millimetre).unwrap_or_else(|| panic!("{text} is a length"))
}

#[test]
fn every_way_of_writing_a_length_is_read() {
    let rows = [
        ("9 in", 228.6),
        ("9in", 228.6),
        ("9\"", 228.6),
        ("7 1/4 in", 184.15),
        ("7-1/4 in", 184.15),
        ("7 1/4\"", 184.15),
        ("1/2 in", 12.7),
        ("22.5 mm", 22.5),
        ("22.5mm", 22.5),
        (".5 in", 12.7),
        ("23 cm", 230.0),
        ("36 line", 22.86),
        ("40", 40.0),
        (" 40 ", 40.0),
        ("-3", -3.0),
        ("-1 1/2 in", -38.1),
        ("38½ in", 977.9),
        ("38 ½\"", 977.9),
        ("¾ in", 19.05),
        ("3 ft", 914.4),
        ("3 ft 2 in", 965.2),
        ("3' 2\"", 965.2),
        ("3'2½\"", 977.9),
        ("3’ 2 1/2”", 977.9),
        ("2.5 feet", 762.0),
        ("-1 ft 6 inches", -457.2),
    ];
    for (text, expected) in rows {
        assert_abs_diff_eq!(mm(text), expected, epsilon = 1e-9);
    }
}

#[test]
fn a_bare_number_is_in_the_files_unit() {
    assert_abs_diff_eq!(length("7 1/4", Unit::Inch).unwrap(), 184.15, epsilon = 1e-9);
    assert_abs_diff_eq!(speed("60", Unit::Inch).unwrap(), 1524.0, epsilon = 1e-9);
}

#[test]
fn what_is_no_length_is_refused() {
    for text in [
        "",
        "9 inn",
        "nan",
        "inf",
        "1e9",
        "1/0 in",
        "7 1/ in",
        "in",
        "--3",
        "9 in in",
        "9,5 mm",
        "½½ in",
        "½ 1/2 in",
        "3 ft 2",
        "3 ft 20 mm",
        "2 in 3 ft",
        "3 ft -2 in",
        "ft",
        "'",
    ] {
        assert_eq!(length(text, Unit::Millimetre), None, "{text:?}");
    }
    let long = "9".repeat(400);
    assert_eq!(length(&long, Unit::Millimetre), None, "a number beyond all bounds");
}

#[test]
fn every_way_of_writing_a_speed_is_read() {
    let rows = [
        ("1500 mm/min", 1500.0),
        ("60 in/min", 1524.0),
        ("25 mm/s", 1500.0),
        ("50", 50.0),
        ("2.5 cm / s", 1500.0),
    ];
    for (text, expected) in rows {
        assert_abs_diff_eq!(speed(text, Unit::Millimetre).unwrap(), expected, epsilon = 1e-9);
    }
    for text in ["", "25 mm/h", "fast", "25 /s/s"] {
        assert_eq!(speed(text, Unit::Millimetre), None, "{text:?}");
    }
}
