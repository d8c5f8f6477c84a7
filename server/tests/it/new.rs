//! `kettlecall new` writes class files that can be opened, and says what it can't do.

use class::start::leaf::{Choice, Form, Leaf, Oxidation, Sitting};
use class::start::method::MethodName;
use class::start::table::Table;
use class::start::wishes::{Basis, Kettle, Wishes};
use class::start::write::class_file;
use class::start::{choose, spec};
use class::{Pourers, read};
use proptest::prelude::*;
use server::commands::new::ask::{Answer, AskError, Given, Notes, ask};
use std::io::{Read, Write};
use std::path::Path;
use std::process::{Command, Output, Stdio};

const TEAS: [&str; 4] = [
    "Lantern Slope, form=ball-rolled, oxidation=half, roasted, age=3",
    "Copper Pier, form=broken, oxidation=fully",
    "Snow Gully, form=open, oxidation=green",
    "Old Ferry, form=compressed, oxidation=post-fermented, age=18",
];

fn wishes(basis: Basis) -> Wishes {
    Wishes {
        title: "An evening \"side by side\"".into(),
        date: "2026-11-28".into(),
        start: None,
        seats: 8,
        pourers: Pourers::EachSeat,
        basis,
        water_ml: None,
        teas: TEAS.iter().map(|t| spec::tea(t).unwrap()).collect(),
        kettles: vec![Kettle { name: "big kettle".into(), fill_ml: 1200.0, watts: 1800.0 }],
        shared_kettles: false,
        altitude_m: 300.0,
        taste_s: None,
    }
}

fn written(wishes: &Wishes) -> String {
    class_file(&Table::compiled_in().unwrap(), wishes)
}

#[test]
fn a_class_by_the_table_is_as_it_was_read_last() {
    insta::assert_snapshot!(written(&wishes(Basis::Sitting(Sitting::Middle))));
}

#[test]
fn a_class_by_a_standard_is_as_it_was_read_last() {
    let teas = [TEAS[0], TEAS[2], TEAS[3]].iter().map(|t| spec::tea(t).unwrap()).collect();
    let wishes = Wishes { teas, kettles: Vec::new(), ..wishes(Basis::Method(MethodName::OneToFifty)) };
    insta::assert_snapshot!(written(&wishes));
}

#[test]
fn a_class_file_cautions_and_says_what_kind_of_numbers_it_holds() {
    let text = written(&wishes(Basis::Sitting(Sitting::Long)));
    for words in ["hot water scalds", "caffeine", "common practice, a place to start; taste and change"] {
        assert!(text.contains(words), "{words}");
    }
}

#[test]
fn no_line_gives_an_unchecked_value_under_the_name_of_the_standard() {
    for name in MethodName::ALL {
        let text = written(&wishes(Basis::Method(name)));
        for (n, line) in text.lines().enumerate() {
            let before = n.checked_sub(1).and_then(|n| text.lines().nth(n)).unwrap_or("");
            if line.contains("commonly quoted") {
                assert!(!line.contains("GB/T") && !before.contains("GB/T"), "{line}");
            }
        }
    }
}

#[test]
fn a_method_lends_itself_to_other_teas_only_in_words() {
    let text = written(&wishes(Basis::Method(MethodName::Iso3103)));
    assert_eq!(text.matches("only a loan").count(), 2, "{text}");
    assert_eq!(text.matches("found on a public page about ISO 3103:2019").count(), 2, "{text}");
}

#[test]
fn a_table_gets_as_much_water_as_everybodys_cups_need() {
    let water = |pourers, seats, water_ml| {
        let wishes = Wishes { pourers, seats, water_ml, ..wishes(Basis::Sitting(Sitting::Middle)) };
        read::class(&written(&wishes)).unwrap().teas[0].water_ml
    };
    assert_eq!(water(Pourers::EachSeat, 8, None), 100.0);
    // Eight cups of 30 ml, and 3 ml for each of 5 g to 100 ml: 240 / 0.85.
    assert_eq!(water(Pourers::Table(1), 8, None), 290.0);
    assert_eq!(water(Pourers::Table(1), 10_000, None), 1000.0);
    assert_eq!(water(Pourers::Table(1), 8, Some(150.0)), 150.0);
}

#[test]
fn a_vessel_that_does_not_fill_every_cup_is_remarked_on() {
    let few = |pourers, basis| {
        written(&Wishes { pourers, ..wishes(basis) }).matches("does not fill 8 cups of 30 ml").count()
    };
    assert_eq!(few(Pourers::Table(1), Basis::Method(MethodName::CoveredBowl)), TEAS.len());
    assert_eq!(few(Pourers::EachSeat, Basis::Method(MethodName::CoveredBowl)), 0);
    assert_eq!(few(Pourers::Table(1), Basis::Sitting(Sitting::Long)), 0);
}

/// Every form, oxidation, roast, dryness and sitting, some ages and doses: nothing is drawn, all are tried.
#[test]
fn every_leaf_in_every_sitting_gives_a_class_that_says_what_was_chosen() {
    let table = Table::compiled_in().unwrap();
    let mut tried = 0;
    for &(form, _) in Form::ALL {
        for &(oxidation, _) in Oxidation::ALL {
            for &(sitting, _) in Sitting::ALL {
                for bits in 0..4 {
                    let teas: Vec<Leaf> =
                        [(0, None), (5, None), (15, Some(8.0)), (150, Some(0.5)), (0, Some(15.0))]
                            .into_iter()
                            .enumerate()
                            .map(|(i, (age_years, dose))| Leaf {
                                form,
                                oxidation,
                                roasted: bits & 1 == 1,
                                dry: bits & 2 == 2,
                                age_years,
                                dose,
                                ..Leaf::named(format!("Tea {i}"))
                            })
                            .collect();
                    let wishes = Wishes { teas, ..wishes(Basis::Sitting(sitting)) };
                    let text = written(&wishes);
                    let class = read::class(&text)
                        .unwrap_or_else(|f| panic!("{}", f.render("new", &text, "it can't be read")));
                    for (tea, leaf) in class.teas.iter().zip(&wishes.teas) {
                        let start = choose::start(&table, leaf, sitting);
                        assert_eq!((&tea.steep_s, tea.rinse_s), (&start.all_s(), start.rinse_s), "{text}");
                        assert_eq!(tea.temp_c.first(), Some(&start.temp_c), "{text}");
                        assert_eq!(tea.temp_c.last(), Some(&start.last_c), "{text}");
                        assert!(tea.temp_c.is_sorted(), "{text}");
                        assert!((tea.dose_g_per_100_ml() - start.dose).abs() < 0.01, "{text}");
                        assert!(text.contains(&format!("# {}\n", leaf.described())), "{text}");
                        tried += 1;
                    }
                }
            }
        }
    }
    assert_eq!(tried, 5 * 6 * 3 * 4 * 5);
}

fn leaves() -> impl Strategy<Value = Leaf> {
    let form = prop::sample::select(Form::ALL).prop_map(|(f, _)| f);
    let oxidation = prop::sample::select(Oxidation::ALL).prop_map(|(o, _)| o);
    // To a tenth, as the flag takes it.
    let dose = prop::option::of((5u32..=150).prop_map(|tenths| f64::from(tenths) / 10.0));
    (form, oxidation, any::<bool>(), any::<bool>(), 0u32..=150, dose, "[a-z\\\\\"'#=\\[\\]{} é茶]{0,20}")
        .prop_map(|(form, oxidation, roasted, dry, age_years, dose, name)| Leaf {
            name: spec::name(&format!("x{name}")).unwrap(),
            form,
            oxidation,
            roasted,
            dry,
            age_years,
            dose,
            ..Leaf::named("")
        })
}

fn bases() -> impl Strategy<Value = Basis> {
    prop_oneof![
        prop::sample::select(Sitting::ALL).prop_map(|(s, _)| Basis::Sitting(s)),
        prop::sample::select(&MethodName::ALL[..]).prop_map(Basis::Method),
    ]
}

proptest! {
    #[test]
    fn whatever_is_wished_the_file_reads_back_and_keeps_every_word(
        basis in bases(),
        leaves in prop::collection::vec(leaves(), 1..=12),
        kettles in prop::collection::vec((100u32..=20_000, 50u32..=10_000), 0..=4),
        title in "[A-Za-z][ -~é茶]{0,70}",
        seats in 1u32..=10_000,
        hands in 0u8..=8,
        altitude in -4300i32..=55_000,
        water in prop::option::of(100u32..=50_000),
    ) {
        let teas = leaves.into_iter().enumerate().map(|(i, leaf)| Leaf {
            name: format!("{i} {}", leaf.name),
            dose: leaf.dose.filter(|_| matches!(basis, Basis::Sitting(_))),
            ..leaf
        });
        let kettles = kettles.into_iter().map(|(ml, w)| Kettle {
            name: format!("kettle of {ml}"),
            fill_ml: f64::from(ml),
            watts: f64::from(w),
        });
        let wishes = Wishes {
            title: spec::title(&title).unwrap(),
            date: "2028-02-29".into(),
            start: Some("18:30:00".into()).filter(|_| seats % 2 == 0),
            seats,
            pourers: if hands == 0 { Pourers::EachSeat } else { Pourers::Table(hands) },
            basis,
            water_ml: water.map(|w| f64::from(w) / 10.0),
            teas: teas.collect(),
            kettles: kettles.collect(),
            shared_kettles: hands == 0,
            altitude_m: f64::from(altitude) / 10.0,
            taste_s: Some(seats % 3000 + 10).filter(|_| seats % 3 == 0),
        };
        prop_assert_eq!(wishes.check(), Ok(()));
        let text = written(&wishes);
        let class = read::class(&text);
        prop_assert!(class.is_ok(), "{}", class.unwrap_err().render("new", &text, "it can't be read"));
        let class = class.unwrap();
        prop_assert_eq!(&class.title, &wishes.title);
        prop_assert_eq!((class.seats, class.pourers), (wishes.seats, wishes.pourers));
        prop_assert_eq!(class.setting.altitude_m, wishes.altitude_m);
        prop_assert_eq!(class.setting.kettles.len(), wishes.kettles.len());
        prop_assert_eq!(class.setting.start_s.is_some(), wishes.start.is_some());
        prop_assert_eq!(class.setting.shared_kettles, wishes.shared_kettles);
        prop_assert!(wishes.taste_s.is_none_or(|taste_s| class.taste_s == taste_s));
        let names: Vec<&str> = wishes.teas.iter().map(|t| t.name.as_str()).collect();
        prop_assert_eq!(class.teas.iter().map(|t| t.name.as_str()).collect::<Vec<_>>(), names);
        prop_assert!(text.contains("# Caution: hot water scalds") && text.contains("caffeine"));
        prop_assert!(text.lines().all(|line| !line.ends_with(' ')));
    }

    #[test]
    fn no_typed_text_makes_the_flags_panic(text in any::<String>()) {
        let _ = (spec::tea(&text), spec::kettle(&text), spec::fill_ml(&text), spec::date(&text), spec::pourers(&text));
    }

    #[test]
    fn no_answers_make_the_questions_panic_or_go_on_for_ever(answers in any::<Vec<u8>>()) {
        let table = Table::compiled_in().unwrap();
        let notes = Notes { earlier: Vec::new(), keep: &mut |_| () };
        let given = Given { today: "2026-11-28".into(), ..Given::default() };
        let _ = ask(&given, &table, notes, &mut &answers[..], &mut Vec::new());
    }
}

fn answered(answers: &str) -> (Result<Wishes, AskError>, String) {
    let (wishes, shown, _) = going_on(Vec::new(), answers);
    (wishes, shown)
}

/// The same after what was answered another time, with what is kept at the end.
fn going_on(earlier: Vec<Answer>, answers: &str) -> (Result<Wishes, AskError>, String, Vec<Answer>) {
    let (mut shown, mut kept) = (Vec::new(), earlier.clone());
    let given = Given { today: "2026-11-28".into(), ..Given::default() };
    let mut keep = |all: &[Answer]| kept = all.to_vec();
    let notes = Notes { earlier, keep: &mut keep };
    let wishes = ask(&given, &Table::compiled_in().unwrap(), notes, &mut answers.as_bytes(), &mut shown);
    (wishes, String::from_utf8(shown).unwrap(), kept)
}

#[test]
fn the_questions_lead_to_a_class() {
    let answers = "Evening\n2026-12-01\n18:30\nlong\n2\nLantern Slope\noolong\nball-rolled\n\nyes\n3\nSnow Gully\n0\ngreen\n\n\n\n\n6\n\n1\nbig kettle\n1.5 l\n2000 W\nyes\n650\n\n";
    let (wishes, shown) = answered(answers);
    let wishes = wishes.unwrap();
    assert_eq!((wishes.title.as_str(), wishes.seats, wishes.pourers), ("Evening", 6, Pourers::EachSeat));
    assert_eq!((wishes.date.as_str(), wishes.start.as_deref()), ("2026-12-01", Some("18:30:00")));
    assert_eq!((wishes.shared_kettles, wishes.taste_s), (true, None));
    assert_eq!((wishes.basis, wishes.altitude_m), (Basis::Sitting(Sitting::Long), 650.0));
    assert_eq!(wishes.kettles, [Kettle { name: "big kettle".into(), fill_ml: 1500.0, watts: 2000.0 }]);
    assert_eq!((wishes.teas[0].form, wishes.teas[0].age_years), (Form::BallRolled, 3));
    assert_eq!((wishes.teas[1].form, wishes.teas[1].oxidation), (Form::Open, Oxidation::Green));
    insta::assert_snapshot!(shown.replace("]: ", "]: \n"));
}

#[test]
fn enter_takes_the_default_of_every_question() {
    let (wishes, _) = answered(&"\n".repeat(60));
    let wishes = wishes.unwrap();
    assert_eq!((wishes.title.as_str(), wishes.teas.len(), wishes.seats), ("Tea side by side", 4, 8));
    assert_eq!(wishes.teas[3], Leaf::named("Tea 4"));
    assert!(read::class(&written(&wishes)).is_ok());
}

#[test]
fn a_wrong_answer_is_explained_and_asked_again() {
    let (wishes, shown) = answered(&format!(
        "\n\nlate\n\n\n0\nthirteen\n2\nA\n\nflat\nopen\n\n\nold\n2\nA\nB\n{}",
        "\n".repeat(20)
    ));
    assert_eq!(wishes.unwrap().teas[1].name, "B");
    for words in [
        "for example 18:30",
        "from 1 to 12",
        "say one of ball-rolled",
        "from 0 to 150",
        "`A` is another tea already",
    ] {
        assert!(shown.contains(words), "{words}\n{shown}");
    }
    assert_eq!(shown.matches("How many teas").count(), 3);
}

#[test]
fn answers_that_end_early_lead_to_no_class() {
    for lines in 0..20 {
        assert!(matches!(answered(&"\n".repeat(lines)).0, Err(AskError::Ended)), "{lines}");
    }
}

fn kettlecall(folder: &Path, args: &[&str], answers: &str) -> Output {
    let mut child = Command::new(env!("CARGO_BIN_EXE_kettlecall"))
        .current_dir(folder)
        .arg("new")
        .args(args)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    // The program may have refused before it read anything.
    let _ = child.stdin.take().unwrap().write_all(answers.as_bytes());
    child.wait_with_output().unwrap()
}

fn said(output: &Output) -> String {
    String::from_utf8_lossy(&output.stderr).into_owned()
}

#[test]
fn flags_write_a_file_that_is_not_overwritten_unless_forced() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("evening.toml");
    let args = ["evening.toml", "--date", "2026-11-28", "--tea", TEAS[0], "--kettle", "big, 1200 ml, 1800 W"];
    let first = kettlecall(folder.path(), &args, "");
    assert_eq!(first.status.code(), Some(0), "{}", said(&first));
    assert!(
        said(&first).contains("look at it with: kettlecall plan evening.toml") && first.stdout.is_empty()
    );
    assert!(read::class(&std::fs::read_to_string(&file).unwrap()).is_ok());

    std::fs::write(&file, "mine").unwrap();
    let again = kettlecall(folder.path(), &args, "");
    assert_eq!(again.status.code(), Some(2));
    assert!(said(&again).contains("--force"), "{}", said(&again));
    assert_eq!(std::fs::read_to_string(&file).unwrap(), "mine");

    let forced = kettlecall(folder.path(), &[&args[..], &["--force"]].concat(), "");
    assert_eq!(forced.status.code(), Some(0), "{}", said(&forced));
    assert!(read::class(&std::fs::read_to_string(&file).unwrap()).is_ok());
    assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 1, "nothing else is left behind");
}

#[test]
fn a_dash_writes_to_standard_output_and_the_questions_stay_out_of_it() {
    let folder = tempfile::tempdir().unwrap();
    let asked = kettlecall(folder.path(), &["-", "--seats", "5"], &"\n".repeat(60));
    assert_eq!(asked.status.code(), Some(0), "{}", said(&asked));
    let class = read::class(std::str::from_utf8(&asked.stdout).unwrap()).unwrap();
    assert_eq!((class.seats, class.teas.len()), (5, 4));
    assert!(said(&asked).contains("How many teas") && !said(&asked).contains("Seats"));
    assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 0);
}

#[test]
fn answers_that_end_early_are_kept_and_the_same_command_goes_on_from_there() {
    let folder = tempfile::tempdir().unwrap();
    let there = || {
        let names = std::fs::read_dir(folder.path()).unwrap().map(|one| one.unwrap().file_name());
        names.map(|name| name.into_string().unwrap()).collect::<Vec<_>>()
    };
    let nothing = kettlecall(folder.path(), &["evening.toml"], "");
    assert_eq!(nothing.status.code(), Some(2));
    assert!(said(&nothing).contains("no class file was written"), "{}", said(&nothing));
    assert!(there().is_empty());

    let ended = kettlecall(folder.path(), &["evening.toml"], "Evening\n2026-12-24\n");
    assert_eq!(ended.status.code(), Some(2));
    assert!(said(&ended).contains("they are kept in evening.toml.answers"), "{}", said(&ended));
    assert_eq!(there(), ["evening.toml.answers"]);

    let went_on = kettlecall(folder.path(), &["evening.toml"], &"\n".repeat(60));
    assert_eq!(went_on.status.code(), Some(0), "{}", said(&went_on));
    assert!(said(&went_on).contains("Going on from the answers in evening.toml.answers"));
    assert!(!said(&went_on).contains("Title"), "what was answered is not asked again");
    assert_eq!(there(), ["evening.toml"], "and no longer kept");
    let class = read::class(&std::fs::read_to_string(folder.path().join("evening.toml")).unwrap()).unwrap();
    assert_eq!((class.title.as_str(), class.date.as_str()), ("Evening", "2026-12-24"));
}

/// As Ctrl-C does it: the program is gone without a word.
#[test]
fn whoever_stops_the_program_in_the_middle_keeps_what_was_answered() {
    let folder = tempfile::tempdir().unwrap();
    let mut child = Command::new(env!("CARGO_BIN_EXE_kettlecall"))
        .current_dir(folder.path())
        .args(["new", "evening.toml"])
        .stdin(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    child.stdin.as_mut().unwrap().write_all(b"Evening\n").unwrap();
    let mut shown = Vec::new();
    // The next question stands there: the first answer was taken.
    while !shown.ends_with(b"Date") {
        let mut byte = [0];
        child.stderr.as_mut().unwrap().read_exact(&mut byte).unwrap();
        shown.push(byte[0]);
    }
    child.kill().unwrap();
    child.wait().unwrap();
    let kept = std::fs::read_to_string(folder.path().join("evening.toml.answers")).unwrap();
    assert_eq!(kept, "Title\tEvening\n");
}

#[test]
fn an_answer_is_taken_back_and_the_question_asked_again() {
    let (wishes, shown) = answered(&format!("Evning\nback\nEvening\n{}", "\n".repeat(60)));
    assert_eq!(wishes.unwrap().title, "Evening");
    assert_eq!(shown.matches("Title [").count(), 2);
    // All the way back, over teas too, and no further than the first question.
    let back = "back\n".repeat(10);
    let answers = format!("A\n\n\n\n2\nLeaf\ngreen\n{back}B\n{}", "\n".repeat(60));
    let (wishes, shown) = answered(&answers);
    let wishes = wishes.unwrap();
    assert_eq!(
        (wishes.title.as_str(), wishes.teas.len(), wishes.teas[0].oxidation),
        ("B", 4, Oxidation::Half)
    );
    assert_eq!(shown.matches("this is the first question").count(), 3);
}

#[test]
fn answers_that_no_longer_go_with_the_questions_are_asked_for_again() {
    let earlier = |question: &str, answer: &str| (question.to_string(), answer.to_string());
    let kept =
        vec![earlier("Title", "Evening"), earlier("Another question", "4"), earlier("Date", "2026-12-24")];
    let (wishes, shown, _) = going_on(kept, &"\n".repeat(60));
    assert_eq!(wishes.unwrap().date, "2026-11-28");
    assert!(!shown.contains("Title") && shown.contains("Date"));
    let (ended, _, kept) = going_on(vec![earlier("Title", "Evening")], "\n");
    assert!(matches!(ended, Err(AskError::Ended)));
    assert_eq!(kept, [earlier("Title", "Evening"), earlier("Date", "2026-11-28")]);
}

#[test]
fn another_way_of_a_leaf_asks_only_for_what_differs_and_is_written_as_that_leaf() {
    // Sitting middle, two teas, the second of the first one's leaf: first just as it is, then with more leaf.
    let answers =
        format!("\n\n\n\n2\nSlope\nblack\n\n\n\n\nSlope, strong\n1\n\n\n\n8\n95\n15\n{}", "\n".repeat(20));
    let (wishes, shown) = answered(&answers);
    let wishes = wishes.unwrap();
    assert!(shown.contains("that is just how Slope is steeped; change one of the three"), "{shown}");
    let text = written(&wishes);
    let class = read::class(&text).unwrap_or_else(|f| panic!("{}", f.render("new", &text, "no")));
    let [one, other] = &class.teas[..] else { panic!("{text}") };
    assert_eq!((one.leaf.as_str(), other.leaf.as_str()), ("Slope", "Slope"));
    assert_eq!((other.dose_g_per_100_ml(), other.temp_c[0], other.steep_s[0]), (8.0, 95.0, 15));
    let (_, shown) = answered(&format!("\n\n\n\n3\nA\n\n\n\n\n\nB\n4\n2\n1\n{}", "\n".repeat(5)));
    assert!(shown.contains("from 0 to 1"), "only of teas that are there: {shown}");
}

#[test]
fn wishes_that_cannot_be_are_refused_with_words_and_write_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let many: Vec<String> = (0..13).flat_map(|i| ["--tea".into(), format!("Tea {i}")]).collect();
    let many: Vec<&str> = many.iter().map(String::as_str).collect();
    for (args, words) in [
        (&["--tea", "A", "--tea", "a"][..], "two teas are called `a`"),
        (&many, "1 to 12 teas, not 13"),
        (&["--tea", "A, dose=6", "--method", "covered-bowl"], "a method sets the dose itself"),
        (&["--tea", "A", "--tea", "B, leaf=A, kind=green"], "said to be one leaf, but are described as two"),
        (&["--tea", "A, water=90", "--method", "iso-3103"], "its own water or first steep"),
        (&["--tea", "A", "--start", "late"], "18:30"),
        (&["--tea", "A, form=flat"], "ball-rolled"),
        (&["--tea", "A", "--sitting", "long", "--method", "iso-3103"], "cannot be used with"),
        (&["--tea", "A", "--date", "tomorrow"], "2026-11-28"),
        (&["evening.ledger", "--tea", "A"], ".toml"),
    ] {
        let output = kettlecall(folder.path(), args, "");
        assert_eq!(output.status.code(), Some(2), "{args:?}");
        assert!(said(&output).contains(words), "{args:?}: {}", said(&output));
    }
    let lost = kettlecall(folder.path(), &["no/such/place.toml", "--tea", "A"], "");
    assert_eq!(lost.status.code(), Some(1));
    assert!(said(&lost).contains("can't be written"), "{}", said(&lost));
    assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 0);
}
