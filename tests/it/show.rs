//! The pages: whole, self-contained, and safe with any text of the user's.

use crate::demo::{Demo, demo_jobs, demos, home, job, job_text, machines, made};
use bradawl::{
    job::PatternKind,
    layout,
    machine::Work,
    make::{self, Made, Wanted},
    paper::Paper,
    route::Effort,
    show::Shown,
};

fn page(made: &Made, name: &str) -> String {
    String::from_utf8(file(made, name).to_vec()).expect("a page is text")
}

/// A file by its name, whichever hand the panel is.
fn file<'m>(made: &'m Made, name: &str) -> &'m [u8] {
    let found = made.files.iter().find(|(file, _)| {
        ["left-", "right-"].iter().find_map(|hand| file.strip_prefix(hand)).unwrap_or(file) == name
    });
    found.unwrap_or_else(|| panic!("there is no {name}")).1
}

#[test]
fn pages_ask_nothing_of_any_network() {
    for Demo { name, made, .. } in demos() {
        for file in ["preview.html", "sheet.html"] {
            let text = page(made, file);
            for outside in ["http:", "https:", "src=", "@import", "<link", "fetch("] {
                assert!(!text.contains(outside), "{name} {file} holds `{outside}`");
            }
        }
    }
}

#[test]
fn pages_name_every_button_and_carry_the_whole_safety_notice() {
    for Demo { name, made, .. } in demos() {
        for file in ["preview.html", "sheet.html"] {
            let text = page(made, file);
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
fn the_order_at_the_bench_is_that_of_the_pattern_and_the_cover() {
    for Demo { name, made, .. } in demos() {
        let text = page(made, "sheet.html");
        let (one, other) = match made.layout.fitted.kind {
            PatternKind::Diamond => ("Button one diamond in", "level folds"),
            PatternKind::Square => ("Button one square in", "Button one diamond"),
            PatternKind::Flutes => ("Tie the grooves from", "each pleat"),
            PatternKind::Single => ("Sink one button in", "each pleat"),
        };
        assert!(text.contains(one) && !text.contains(other), "{name}");
        let joined = made.layout.cover.pieces.len() > 1;
        assert_eq!(text.contains("sew them together; notch"), joined, "{name}");
    }
}

#[test]
fn programs_and_drawings_carry_the_short_notice() {
    for Demo { name, made, .. } in demos() {
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

#[test]
fn the_printed_sheet_has_a_page_for_bench_and_roll_and_one_for_each_program() {
    for Demo { name, made, .. } in demos() {
        let pdf = file(made, "sheet.pdf");
        assert!(pdf.starts_with(b"%PDF-1."), "{name}");
        // What is too much for one page goes on on the next.
        let pages = count(pdf, b"/Type /Page\n");
        let least = 2 + made.programs.len();
        assert!((least..=least + 1).contains(&pages), "{name}: {pages} pages for {least}");
        assert!(count(pdf, b"/FontFile2") == 2, "{name}: both faces are embedded");
    }
}

#[test]
fn the_printed_sheet_knows_no_clock_and_takes_the_paper_it_is_told() {
    let job = job(&job_text(&[]));
    let on = |paper| {
        make::make(
            &Wanted {
                job: &job,
                machines: &machines(),
                works: &Work::ALL,
                effort: Effort::Quick,
                paper,
            },
            &|_| {},
        )
        .expect("it can be made")
    };
    let (once, again, letter) = (on(Paper::A4), on(Paper::A4), on(Paper::Letter));
    let pdf = |made: &Made| made.files["sheet.pdf"].clone();
    assert_eq!(pdf(&once), pdf(&again));
    for dated in [b"Date" as &[u8], b"/ID", b"D:20"] {
        assert_eq!(count(&pdf(&once), dated), 0, "{}", String::from_utf8_lossy(dated));
    }
    assert_eq!(count(&pdf(&once), b"/MediaBox [0 0 595.2756 841.8898]"), 5);
    assert_eq!(count(&pdf(&letter), b"/MediaBox [0 0 612 792]"), 5);
    let but_the_paper = |mut made: Made| {
        made.files.remove("sheet.pdf");
        made.files
    };
    assert_eq!(but_the_paper(once), but_the_paper(letter), "paper changes nothing else");
}

#[test]
fn templates_are_full_size_on_every_paper() {
    for (name, job) in demo_jobs() {
        let layout = layout::lay_out(&job).expect("a demo is laid out");
        let shown = Shown { job: &job, layout: &layout, programs: &[] };
        for work in Work::ALL {
            let pages = [Paper::A4, Paper::Letter, Paper::A3].map(|paper| {
                let templates = shown.templates(work, paper);
                let again = shown.templates(work, paper);
                for (template, again) in templates.iter().zip(&again) {
                    assert_eq!(template.bytes, again.bytes, "{name} {}", template.file);
                    let said = count(&template.bytes, b"/Type /Page\n");
                    assert_eq!(said, template.pages, "{name} {}", template.file);
                    assert_eq!(count(&template.bytes, b"/PrintScaling /None"), 1);
                }
                templates.iter().map(|template| template.pages).sum::<usize>()
            });
            assert!(pages[2] < pages[0], "{name} {work}: larger paper, fewer pages: {pages:?}");
        }
    }
}

#[test]
fn a_program_from_elsewhere_is_played_back_with_its_faults() {
    let folder = tempfile::tempdir().expect("a folder");
    let program = "G21 G17 G90 G94\nT1 M6\nG0 Z20\nG0 X50 Y60\nM3 S3000\nG1 Z-5 F300\nG0 Z20\n\
                   G0 X90\nG1 Z-5\nG1 X120\nG0 Z20\nM30\n";
    std::fs::write(folder.path().join("<odd> name.nc"), program).expect("written");
    assert_cmd::Command::cargo_bin("bradawl")
        .expect("the program is built")
        .current_dir(folder.path())
        .args(["dry-run", "<odd> name.nc", "--machine", "bench-router", "--preview", "seen.html"])
        .arg("--machines")
        .arg(home().join("machines"))
        .assert()
        .code(1);
    let text = std::fs::read_to_string(folder.path().join("seen.html")).expect("a page");
    for part in [
        "data-program=\"-odd--name\"",
        "<title>&lt;odd&gt; name.nc - preview</title>",
        "class=\"fault\"",
        "G1 Z-5 F300",
        "1 hole, 1 cut sideways, 0 pen lines",
        "\"names\":[\"1\"]",
    ] {
        assert!(text.contains(part), "the page lacks {part}");
    }
    for line in bradawl::notice::WHOLE {
        assert!(text.contains(line), "the page lacks: {line}");
    }
    for outside in ["<odd>", "http:", "https:"] {
        assert!(!text.contains(outside), "the page holds {outside}");
    }
}

fn count(bytes: &[u8], part: &[u8]) -> usize {
    bytes.windows(part.len()).filter(|window| *window == part).count()
}

/// The list of what is cut has the sizes of the list of what is taken.
#[test]
fn what_is_cut_is_what_is_taken() {
    let layers = [
        ("foam", "[foam]\nthickness = 50\nhole = 30\noverhang = 5"),
        ("wadding", "[wadding]\nthickness = 8\noverhang = 60"),
    ];
    let cut_out = [("board", "[board]\nthickness = 12\nhole = 8\ncut_out = true")];
    for parts in [&layers[..], &cut_out[..]] {
        let made = made(&job(&job_text(parts)));
        let report: serde_json::Value =
            serde_json::from_slice(file(&made, "report.json")).expect("JSON");
        let materials = &report["materials"];
        for (what, taken) in [
            ("board", "board"),
            ("foam", "foam"),
            ("wadding", "wadding"),
            ("back lining", "lining"),
        ] {
            let list = materials["cutting_order"].as_array().expect("a list");
            let Some(cut) = list.iter().find(|cut| cut["what"] == what) else {
                assert!(materials[format!("{taken}_mm")].is_null(), "{what}");
                continue;
            };
            for side in 0..2 {
                assert_eq!(cut["size_mm"][side], materials[format!("{taken}_mm")][side], "{what}");
            }
        }
    }
}
