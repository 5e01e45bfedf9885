//! The pages: whole, self-contained, and safe with any text of the user's.

use crate::demo::{demo_jobs, job, job_text, made};
use bradawl::make::Made;

fn page(made: &Made, name: &str) -> String {
    String::from_utf8(made.files[name].clone()).expect("a page is text")
}

#[test]
fn pages_ask_nothing_of_any_network() {
    for (name, job) in demo_jobs() {
        let made = made(&job);
        for file in ["preview.html", "sheet.html"] {
            let text = page(&made, file);
            for outside in ["http:", "https:", "src=", "@import", "<link", "fetch("] {
                assert!(!text.contains(outside), "{name} {file} holds `{outside}`");
            }
        }
    }
}

#[test]
fn pages_name_every_button_and_carry_the_whole_safety_notice() {
    for (name, job) in demo_jobs() {
        let made = made(&job);
        for file in ["preview.html", "sheet.html"] {
            let text = page(&made, file);
            for button in &made.layout.buttons {
                assert!(
                    text.contains(&button.name.to_string()),
                    "{name} {file} lacks {}",
                    button.name
                );
            }
            for line in bradawl::notice::WHOLE {
                assert!(text.contains(line), "{name} {file} lacks: {line}");
            }
        }
    }
}

#[test]
fn programs_and_drawings_carry_the_short_notice() {
    for (name, job) in demo_jobs() {
        let made = made(&job);
        for (file, bytes) in &made.files {
            let text = String::from_utf8_lossy(bytes);
            let words = if file.ends_with(".nc") || file.ends_with(".dxf") {
                "Keep people out"
            } else {
                continue;
            };
            assert!(text.contains(words), "{name} {file} carries the notice");
        }
    }
}

#[test]
fn a_title_is_text_and_nothing_else() {
    let nasty = "\"<script>alert(1)</script> & {{panel}} (M30) %\"";
    let made = made(&job(&job_text(&[("title", nasty)])));
    for file in ["preview.html", "sheet.html"] {
        let text = page(&made, file);
        assert!(!text.contains("<script>alert"), "{file}");
        assert!(text.contains("&lt;script&gt;alert(1)&lt;/script&gt; &amp; {{panel}}"), "{file}");
    }
    let program = page(&made, "board.nc");
    let head = program.lines().next().expect("a first line");
    assert_eq!(head, "(board - <script>alert<1></script> & <<panel>> <M30> -)");
}

#[test]
fn a_wall_of_two_thousand_buttons_is_drawn_on_one_page() {
    let text = job_text(&[
        ("panel", "[panel.rectangle]\nwidth = \"840 mm\"\nheight = \"560 mm\""),
        (
            "pattern",
            "[pattern.diamond]\nwidth = \"16 mm\"\nheight = \"20 mm\"\nfit = \"exact\"\nedge = \"60 mm\"",
        ),
        ("allowance", "[fabric.allowance.measured]\nacross = \"2 mm\"\ndown = \"2 mm\""),
    ]);
    let made = made(&job(&text));
    assert!(made.layout.buttons.len() > 1_900, "{}", made.layout.buttons.len());
    let size = made.files["preview.html"].len();
    assert!(size < 2_100_000, "{size} bytes");
}
