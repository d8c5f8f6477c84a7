//! `kettlecall spot` as a program: published data typed in as classes, and what it says of them.

use class::read;
use host::stored;
use ledger::Sqlite;
use protocol::HostTime;
use room::{Entry, Event};
use serde_json::Value;
use std::path::Path;
use std::process::Command;
use uuid::Uuid;

/// Runs `kettlecall` in a folder: exit code, standard output, standard error.
fn kettlecall(folder: &Path, args: &[&str]) -> (i32, String, String) {
    let output =
        Command::new(env!("CARGO_BIN_EXE_kettlecall")).current_dir(folder).args(args).output().unwrap();
    let text = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
    (output.status.code().unwrap(), text(&output.stdout), text(&output.stderr))
}

/// A class of one leaf in some ways (dose, temperature, seconds), each tasted by every seat: `scores` has a row for each seat.
fn held(
    folder: &Path,
    number: u128,
    ways: &[(f64, f64, u32)],
    scale: (i32, i32),
    scores: &[Vec<i32>],
) -> String {
    let (min, max) = scale;
    let mut text = format!(
        "title = \"Class {number}\"\ndate = 2026-11-{:02}\nblind = false\nseats = {}\npourers = \"each seat\"\npour_s = 5\ndecant_s = 4\n\
         taste_s = 60\n[sheet]\nstrength = false\nattributes = [{{ name = \"liking\", min = {min}, max = {max} }}]\n",
        number + 1,
        scores.len(),
    );
    for (n, (dose, temp_c, seconds)) in ways.iter().enumerate() {
        text += &format!(
            "[[tea]]\nname = \"Way {n}\"\nleaf = \"Lantern Slope\"\ncode = \"{}\"\nleaf_g = {dose}\nwater_ml = 100\ntemp_c = {temp_c}\nsteep_s = [{seconds}]\n",
            100 + n
        );
    }
    let class = Box::new(read::class(&text).unwrap_or_else(|faults| panic!("{faults:?}")));
    let event = Event::Class { class_id: Uuid::from_u128(number + 1), seed: 7, class };
    let name = format!("{number}.ledger");
    let entry = Entry::new(1, HostTime(0), event);
    stored::append(&mut Sqlite::open(&folder.join(&name)).unwrap(), &[entry]).unwrap();
    let mut sheet = String::from("seat,code,steep,liking\n");
    let mut args = vec!["enter".to_string(), name.clone(), "scores.csv".to_string()];
    for (seat, scores) in scores.iter().enumerate() {
        args.extend(["--new-seat".to_string(), format!("Seat {seat}")]);
        for (n, score) in scores.iter().enumerate() {
            sheet += &format!("Seat {seat},{},1,{score}\n", 100 + n);
        }
    }
    std::fs::write(folder.join("scores.csv"), sheet).unwrap();
    let args: Vec<&str> = args.iter().map(String::as_str).collect();
    let (code, _, words) = kettlecall(folder, &args);
    assert_eq!(code, 0, "{words}");
    name
}

fn near(value: &Value, printed: f64, digit: f64) {
    let value = value.as_f64().unwrap();
    assert!((value - printed).abs() < digit, "{value} is not {printed}");
}

/// Yield of a reaction by time and temperature in two blocks (Myers, Montgomery & Anderson-Cook, Response Surface Methodology, 2009, table
/// 7.6; figures as printed in Lenth, Journal of Statistical Software 32(7), 2009). Time stands as dose, the yield less 80 in tenths.
#[test]
fn a_published_reaction_has_its_printed_figures_through_enter_and_spot() {
    let blocks: [&[(f64, f64, i32)]; 2] = [
        &[
            (-1., -1., 5),
            (-1., 1., 15),
            (1., -1., 20),
            (1., 1., 35),
            (0., 0., 39),
            (0., 0., 43),
            (0., 0., 40),
        ],
        &[
            (0., 0., -3),
            (0., 0., -2),
            (0., 0., -5),
            (1.414, 0., -16),
            (-1.414, 0., -44),
            (0., 1.414, -15),
            (0., -1.414, -30),
        ],
    ];
    let folder = tempfile::tempdir().unwrap();
    let names: Vec<String> = (0..)
        .zip(blocks)
        .map(|(number, block)| {
            let way = |&(x1, x2, _): &(f64, f64, i32)| (3.0 * 1.5_f64.powf(x1), 85.0 + 10.0 * x2, 60);
            let ways: Vec<(f64, f64, u32)> = block.iter().map(way).collect();
            held(folder.path(), number, &ways, (-100, 100), &[block.iter().map(|run| run.2).collect()])
        })
        .collect();
    let args = ["spot", &names[0], &names[1], "--no-prior", "--format", "json"];
    let (code, out, words) = kettlecall(folder.path(), &args);
    assert_eq!(code, 0, "{words}");
    let json: Value = serde_json::from_str(&out).unwrap();
    let leaf = &json["leaves"][0];
    let fit = &leaf["fit"];
    assert_eq!(
        (&leaf["cups"], &leaf["answer"]["kind"], &fit["prior"]),
        (&14.into(), &"top".into(), &Value::Null)
    );
    let printed = [
        (["dose", "dose"].as_slice(), 0.932541, 0.057699),
        (&["temperature", "temperature"], 0.577712, 0.057699),
        (&["dose", "temperature"], 0.125000, 0.081592),
        (&["dose", "dose"], -1.308555, 0.060064),
        (&["temperature", "temperature"], -0.933442, 0.060064),
    ];
    for (n, (of, value, error)) in printed.into_iter().enumerate() {
        let of = if n < 2 { &of[..1] } else { of };
        let term = &fit["terms"][n];
        assert_eq!(term["of"], serde_json::json!(of));
        near(&term["coded"]["value"], 10.0 * value, 1e-5);
        near(&term["coded"]["standard_error"], 10.0 * error, 1e-5);
    }
    // The same polynomial over ln g/100 ml and °C: a product over both steps.
    near(&fit["terms"][2]["natural"]["value"], 1.25 / 1.5_f64.ln() / 10.0, 1e-6);
    near(&fit["classes"][0]["above_first"]["value"], -44.57530, 1e-4);
    near(&fit["classes"][0]["above_first"]["standard_error"], 0.87226, 1e-4);
    let analysis = &fit["analysis"];
    for (of, f, digit) in [
        ("slopes", 180.7341, 1e-4),
        ("products", 2.3470, 1e-4),
        ("squares", 334.0539, 1e-4),
        ("lack_of_fit", 0.5307, 1e-4),
    ] {
        near(&analysis[of]["f"], f, digit);
    }
    near(&analysis["lack_of_fit"]["p"], 0.6851, 1e-4);
    near(&analysis["r_squared"], 0.9981, 1e-4);
    near(&fit["residual"]["mean_square"], 2.66292, 1e-4);
    assert_eq!((&fit["residual"]["df"], &fit["error"]), (&7.into(), &"cups".into()));
    let canonical = &fit["canonical"];
    assert_eq!(canonical["kind"], "top");
    for (at, x) in [(0, 0.3722954), (1, 0.3343802)] {
        near(&canonical["stationary"][at], x, 1e-6);
    }
    near(&canonical["stationary_at"][0], 3.488826, 1e-6);
    near(&canonical["stationary_at"][1], 85.0 + 3.343802, 1e-5);
    near(&canonical["eigenvalues"][0], -9.233027, 1e-5);
    near(&canonical["eigenvalues"][1], -13.186949, 1e-5);
    // The region was computed apart on a grid of 0.004; ours is looked for on one of 0.035.
    let region = &leaf["answer"]["region"]["factors"];
    for (at, low, high) in [(0, 0.288, 0.476), (1, 0.220, 0.480)] {
        near(&region[at]["low_coded"], low, 0.036);
        near(&region[at]["high_coded"], high, 0.036);
    }
    assert_eq!(leaf["answer"]["best"]["leaf_g"], 3.5);
    assert_eq!(leaf["answer"]["best"]["temp_c"][0], 88.0);
}

/// Three ways of one leaf, eight seats: with the hill assumed there is an answer that says what it leans on, and without there is none.
#[test]
fn few_ways_get_an_answer_that_says_what_it_leans_on_or_a_reason() {
    let folder = tempfile::tempdir().unwrap();
    let ways = [(2.0, 90.0, 60), (4.0, 90.0, 60), (8.0, 80.0, 30), (4.0, 80.0, 90)];
    let scores: Vec<Vec<i32>> = (0..8).map(|n| vec![4 + n % 2, 7, 5 - n % 3, 6]).collect();
    let name = held(folder.path(), 0, &ways, (1, 9), &scores);
    let (code, text, _) = kettlecall(folder.path(), &["spot", &name, "--full"]);
    assert_eq!(code, 0);
    assert!(
        text.contains("LANTERN SLOPE · 4 ways · 8 seats · 1 class") && text.contains("leans on"),
        "{text}"
    );
    let (code, text, _) = kettlecall(folder.path(), &["spot", &name, "--no-prior"]);
    assert!(code == 0 && text.contains("No best way can be named: needs 10 ways"), "{text}");
    let (code, _, words) = kettlecall(folder.path(), &["spot", &name, "--leaf", "Lantern Slop"]);
    assert!(code == 2 && words.contains("did you mean Lantern Slope?"), "{words}");
    let (code, json, _) =
        kettlecall(folder.path(), &["spot", &name, "--leaf", "lantern slope", "--format", "json"]);
    assert_eq!((code, serde_json::from_str::<Value>(&json).unwrap()["format"].as_u64()), (0, Some(1)));
}

/// Each tea of the next class has its reason; the class can be planned, and is written once.
#[test]
fn the_next_class_can_be_planned_and_says_why_each_way_is_there() {
    let folder = tempfile::tempdir().unwrap();
    let ways = [(2.0, 90.0, 60), (4.0, 90.0, 60), (8.0, 80.0, 30), (4.0, 80.0, 90), (3.0, 95.0, 40)];
    let scores: Vec<Vec<i32>> = (0..8).map(|n| vec![4 + n % 2, 7, 5 - n % 3, 6, 6]).collect();
    let name = held(folder.path(), 0, &ways, (1, 9), &scores);
    let (code, _, words) = kettlecall(folder.path(), &["spot", &name, "--next", "next.toml", "--teas", "5"]);
    assert!(code == 0 && words.contains("written: next.toml"), "{words}");
    let text = std::fs::read_to_string(folder.path().join("next.toml")).unwrap();
    let class = read::class(&text).unwrap();
    let gives_reason = |line: &&str| {
        ["# new", "# the best so far", "# tasted before"].iter().any(|begins| line.starts_with(begins))
    };
    assert_eq!(text.lines().filter(gives_reason).count(), class.teas.len(), "{text}");
    assert!((4..=5).contains(&class.teas.len()), "{text}");
    assert!(
        class.teas.iter().all(|tea| tea.leaf == "Lantern Slope" && tea.leaf_g <= 12.0 && tea.leaf_g >= 1.3),
        "{text}"
    );
    assert_eq!(kettlecall(folder.path(), &["plan", "next.toml"]).0, 0);
    let (code, _, words) = kettlecall(folder.path(), &["spot", &name, "--next", "next.toml"]);
    assert!(code == 1 && words.contains("name another file"), "{words}");
}

/// Eleven ways on a known hill (4 g, 85 °C, 60 s): the page has every pair of factors and each by itself, every way, and nothing that runs.
#[test]
fn the_page_shows_every_pair_of_factors_and_names_every_way() {
    let folder = tempfile::tempdir().unwrap();
    let far = [-1.0, 1.0];
    let corners = far.iter().flat_map(|&a| far.iter().flat_map(move |&b| far.map(move |c| [a, b, c])));
    let ways: Vec<[f64; 3]> = corners.chain([[0.0; 3], [1.5, 0.0, 0.0], [0.0, -1.5, 0.0]]).collect();
    let poured: Vec<(f64, f64, u32)> = ways
        .iter()
        .map(|[a, b, c]| (4.0 * 1.5_f64.powf(*a), 85.0 + 10.0 * b, (60.0 * 1.5_f64.powf(*c)).round() as u32))
        .collect();
    let liking = |n: usize, way: &[f64; 3]| {
        let off: f64 = way.iter().map(|x| 0.8 * x * x).sum();
        (7.5 - off).round() as i32 + [0, 1, -1][(n + way.iter().filter(|x| **x > 0.0).count()) % 3]
    };
    let scores: Vec<Vec<i32>> = (0..8).map(|n| ways.iter().map(|way| liking(n, way)).collect()).collect();
    let name = held(folder.path(), 0, &poured, (1, 9), &scores);
    let (code, _, words) = kettlecall(folder.path(), &["spot", &name, "-o", "spot.html"]);
    assert!(code == 0 && words.contains("written: spot.html"), "{words}");
    let page = std::fs::read_to_string(folder.path().join("spot.html")).unwrap();
    assert_eq!(page.matches("<svg").count(), 6);
    for words in [
        "<h3>Leaf and water, all at 60 s</h3>",
        "<title>Leaf and time, all at 85 °C</title>",
        "Water and time, all at 4.0 g to 100 ml",
        "Time by itself",
        "<desc>Lines of equal liking. The best way lies at 4.0 g to 100 ml and 85 °C.",
        ">−1</text>",
        ">best</text>",
        "Best so far: 4 g in 100 ml at 85 °C, 60 s",
    ] {
        assert!(page.contains(words), "{words}\n{page}");
    }
    for n in 0..ways.len() {
        assert!(
            page.contains(&format!("<td>Way {n}</td>")) && page.contains(&format!(">{}</text>", n + 1)),
            "{n}"
        );
    }
    assert!(!page.contains("<script") && !page.contains("http"), "{page}");
}
