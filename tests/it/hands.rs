//! Hands: a pair is one job and two sets of everything, each the other's mirror image.

use crate::demo::{job, job_text, machines};
use approx::assert_relative_eq;
use bradawl::{
    job::Job,
    layout,
    machine::Work,
    make::{self, Made, Wanted},
    paper::Paper,
    route::Effort,
    show::{Shown, both_hands},
    words::decimal,
};

fn wing(hand: &str) -> String {
    job_text(&[
        ("title", &format!("\"Wing\"\nhand = \"{hand}\"")),
        (
            "panel",
            "[panel.polygon]\npoints = [[0, 0], [360, 0], [520, 260, 90], [520, 480, 40], [0, 480]]",
        ),
        ("pattern", "[pattern.diamond]\nwidth = 110\nheight = 160\nedge = 75"),
        (
            "wadding",
            "[[opening]]\nreason = \"switch\"\nat = [-120, -160]\ndiameter = 40\n[wadding]\nthickness = 8",
        ),
    ])
}

fn shown<'a>(jobs: &'a [Job], made: &'a [Made]) -> Vec<Shown<'a>> {
    let one = |(job, made): (&'a Job, &'a Made)| Shown {
        job,
        layout: &made.layout,
        programs: &made.programs,
    };
    jobs.iter().zip(made).map(one).collect()
}

#[test]
fn a_pair_is_two_sets_each_with_its_label() {
    let both = job(&wing("pair")).hands();
    assert_eq!(
        both.iter().map(|job| job.title.as_str()).collect::<Vec<_>>(),
        ["Wing, left hand", "Wing, right hand"]
    );
    let made: Vec<_> = both
        .iter()
        .map(|job| {
            make::make(
                &Wanted {
                    job,
                    machines: &machines(),
                    works: &Work::ALL,
                    effort: Effort::Quick,
                    paper: Paper::A4,
                },
                &|_| {},
            )
            .expect("it can be made")
        })
        .collect();
    for (made, hand) in made.iter().zip(["left", "right"]) {
        assert!(
            made.files.keys().all(|name| name.starts_with(&format!("{hand}-"))),
            "{:?}",
            made.files.keys()
        );
        assert!(made.files.len() >= 10);
        for program in &made.programs {
            assert!(program.verified.text().contains(&format!("{hand} hand")), "{}", program.file);
        }
        let sheet =
            String::from_utf8_lossy(&made.files[&format!("{hand}-sheet.html")]).into_owned();
        assert!(sheet.contains(&format!("Wing, {hand} hand")));
    }
    let shown = shown(&both, &made);
    let said = both_hands(&shown);
    let buttons = 2 * made[0].layout.buttons.len();
    assert!(buttons <= 40, "as many as two spare ones do for");
    assert!(said.contains(&format!("{buttons} buttons and 2 to spare")), "{said}");
    let cloth = 2.0 * made[0].layout.cover.roll.to_buy() / 1000.0;
    assert!(said.contains(&format!(" {} m of cloth", decimal(cloth, 2))), "{said}");
    assert_eq!(both_hands(&shown[..1]), "");
}

/// Where the roll has room for both side by side, the cloth of one length is saved, and that is what is said and quoted.
#[test]
fn both_hands_are_cut_side_by_side_where_the_roll_has_room() {
    for (quantity, apart, together) in [(1, 2, 1), (3, 4, 3), (2, 2, 2)] {
        let text = wing("pair")
            .replace("roll_width = \"1400 mm\"", "roll_width = 2400")
            .replace("hand = \"pair\"", &format!("hand = \"pair\"\nquantity = {quantity}"));
        let both = job(&text).hands();
        let made: Vec<_> = both
            .iter()
            .map(|job| {
                let wanted = Wanted {
                    job,
                    machines: &machines(),
                    works: &[],
                    effort: Effort::Quick,
                    paper: Paper::A4,
                };
                make::make(&wanted, &|_| {}).expect("it can be made")
            })
            .collect();
        let each = made.iter().map(|made| &made.layout.cover.roll);
        assert_eq!(each.clone().map(|roll| roll.drops.len()).sum::<usize>(), apart, "{quantity}");
        for (made, hand) in made.iter().zip(["left", "right"]) {
            let pair = made.layout.pair.as_ref().expect("one of a pair");
            assert_eq!(pair.roll.drops.len(), together);
            assert_relative_eq!(pair.roll.length, pair.roll.least);
            let piece = pair.roll.drop_length;
            let lengths = each.clone().map(|roll| roll.takes()).sum::<f64>();
            let saves = if apart == together { 0.0 } else { lengths - pair.roll.takes() };
            assert_relative_eq!(pair.saves, saves);
            assert!(apart == together || pair.saves > piece - 20.0);
            // Every panel has one piece of each hand, and none lies over another.
            let mut laid: Vec<(u32, usize)> = Vec::new();
            for drop in &pair.roll.drops {
                let mut end = 0.0;
                for piece in &drop.pieces {
                    assert!(piece.x >= end - 1e-6, "{drop:?}");
                    end = piece.x + pair.pieces[piece.piece].1.cut[0];
                    laid.push((piece.panel, piece.piece));
                }
                assert!(end <= 2400.0 + 1e-6);
            }
            laid.sort_unstable();
            let wanted: Vec<(u32, usize)> =
                (1..=quantity).flat_map(|panel| [(panel, 0), (panel, 1)]).collect();
            assert_eq!(laid, wanted);
            let sheet = String::from_utf8_lossy(&made.files[&format!("{hand}-sheet.html")]);
            assert_eq!(sheet.contains("Both hands off one roll"), apart != together);
        }
        let shown = shown(&both, &made);
        let said = both_hands(&shown);
        let pair = made[0].layout.pair.as_ref().expect("one of a pair");
        let apart_mm = each.map(|roll| roll.to_buy()).sum::<f64>();
        let cloth = decimal((apart_mm - pair.saves) / 1000.0, 2);
        assert!(said.contains(&format!(" {cloth} m of cloth")), "{said}");
        assert_eq!(said.contains("less than for each by itself"), apart != together, "{said}");
    }
}

#[test]
fn the_right_hand_is_the_left_hands_mirror_image() {
    let both: Vec<_> = job(&wing("pair"))
        .hands()
        .iter()
        .map(|job| layout::lay_out(job).expect("laid out"))
        .collect();
    let [left, right] = &both[..] else { panic!("a pair") };
    assert_eq!(left.buttons.len(), right.buttons.len());
    for button in &left.buttons {
        let twin = right
            .buttons
            .iter()
            .find(|b| (b.at.x + button.at.x).abs() < 1e-9 && (b.at.y - button.at.y).abs() < 1e-9);
        assert!(twin.is_some(), "{} has a twin", button.name);
    }
    assert_relative_eq!(left.outline.area(), right.outline.area(), max_relative = 1e-12);
    let middle = |sheet: &layout::HoleSheet| bradawl::outline::bounds(&sheet.openings[0]).center();
    assert_relative_eq!(middle(&left.board).x + middle(&right.board).x, 520.0, epsilon = 1e-9);
    // One hand alone is the same, without a prefix.
    for (hand, of_pair) in [("left", left), ("right", right)] {
        let alone = job(&wing(hand)).hands().remove(0);
        assert_eq!(alone.prefix, "");
        let alone = layout::lay_out(&alone).expect("laid out");
        assert!(
            alone
                .buttons
                .iter()
                .zip(&of_pair.buttons)
                .all(|(a, b)| a.at == b.at && a.name == b.name)
        );
    }
}
