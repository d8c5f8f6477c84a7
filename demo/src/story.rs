//! The story: five people's ways of one leaf become a first class, each class says what the next one should taste, and after three of them
//! the sweet spot is held against what the scripted tasters truly like. Every step but the tasting is a command of `kettlecall`, run as it
//! is typed; the tasters' sheets are entered as if from paper.

mod tasters;

use clap::Parser;
use class::{Class, read};
use host::{Host, Opening, open};
use ledger::Sqlite;
use protocol::text::message;
use room::Teacher;
use serde_json::Value;
use server::cli::Cli;
use std::error::Error;
use std::fs;
use std::path::Path;
use tasters::{TRUTH, sheet};

/// What the leaf is called once the teacher knows it.
const LEAF: &str = "Lantern Slope";
/// What it is like, as the guide is told.
const DESCRIBED: &str = "Lantern Slope, form=ball-rolled, oxidation=half, roasted, age=2";
/// The days of the classes, a week apart.
const DAYS: [&str; 3] = ["2026-11-07", "2026-11-14", "2026-11-21"];
/// How many tasters sit in each class.
const SEATS: usize = 8;
/// What the codes of the classes are drawn from, so that every telling is the same.
const SEED: u64 = 20;

type Told<T> = Result<T, Box<dyn Error>>;

/// What came of it.
#[derive(Debug)]
pub struct Found {
    /// The best way as it can be poured: g to 100 ml, °C and seconds of the first steep.
    pub best: [f64; 3],
    /// How far the best may lie along each.
    pub region: Vec<(f64, f64)>,
}

impl Found {
    /// Whether what is truly liked best lies within what was said, along each.
    pub fn holds_the_truth(&self) -> bool {
        self.region.len() == 3
            && self.region.iter().zip(TRUTH).all(|(&(low, high), truth)| low <= truth && truth <= high)
    }
}

/// Tells it in an empty folder; `say` prints a line.
pub async fn tell(folder: &Path, say: &dyn Fn(&str)) -> Told<Found> {
    let at = |name: &str| folder.join(name).display().to_string();
    let kettlecall = |args: &[&str]| kettlecall(folder, args, say);
    fs::write(folder.join("ways.toml"), include_str!("../ways.toml"))?;
    say("Five people steep one leaf in five ways. Who is right?\n");
    kettlecall(&["ways", &at("ways.toml"), "-o", &at("ways.html")])?;
    let seats = SEATS.to_string();
    let first =
        ["new", &at("class-1.toml"), "--from", &at("ways.toml"), "--seats", &seats, "--date", DAYS[0]];
    kettlecall(&first)?;
    rewrite(&folder.join("class-1.toml"), |line| {
        line.starts_with("leaf = ").then(|| format!("leaf = \"{LEAF}\""))
    })?;
    let mut ledgers: Vec<String> = Vec::new();
    for (n, day) in DAYS.iter().enumerate() {
        let (class, next) = (format!("class-{}.toml", n + 1), at(&format!("class-{}.toml", n + 2)));
        rewrite(&folder.join(&class), |line| line.starts_with("date = ").then(|| format!("date = {day}")))?;
        ledgers.push(hold(folder, n, say).await?);
        let mut args = vec!["spot"];
        args.extend(ledgers.iter().map(String::as_str));
        if n + 1 < DAYS.len() {
            // What is said of the spot so far is told by the last one.
            let so_far = at(&format!("so-far-{}.html", n + 1));
            args.extend(["-o", &so_far, "--next", &next]);
            kettlecall(&args)?;
        } else {
            kettlecall(&args)?;
        }
    }
    let all: Vec<&str> = ledgers.iter().map(String::as_str).collect();
    let of = |command: &[&str], end: &[&str]| kettlecall(&[command, &all[..], end].concat());
    of(&["spot"], &["-o", &at("spot.html")])?;
    of(&["spot"], &["-o", &at("spot.json")])?;
    of(&["review"], &["-o", &at("review.html")])?;
    of(&["guide"], &["--leaf", DESCRIBED, "-o", &at("guide.html")])?;
    found(&serde_json::from_str(&fs::read_to_string(folder.join("spot.json"))?)?)
}

/// Runs a command as if it were typed there; `say` shows it without the folder.
fn kettlecall(folder: &Path, args: &[&str], say: &dyn Fn(&str)) -> Told<()> {
    let quoted = |arg: &&str| if arg.contains(' ') { format!("\"{arg}\"") } else { (*arg).to_string() };
    let shown = args.iter().map(quoted).collect::<Vec<_>>().join(" ");
    say(&format!("\n$ kettlecall {}", shown.replace(&format!("{}/", folder.display()), "")));
    let cli = Cli::try_parse_from(["kettlecall"].iter().chain(args))?;
    server::commands::run(cli.command).map_err(|failure| message(&failure.words).to_string().into())
}

/// Changes lines of a file.
fn rewrite(path: &Path, change: impl Fn(&str) -> Option<String>) -> Told<()> {
    let text = fs::read_to_string(path)?;
    let lines: Vec<String> = text.lines().map(|line| change(line).unwrap_or_else(|| line.into())).collect();
    Ok(fs::write(path, lines.join("\n") + "\n")?)
}

/// Holds a class on paper: opened for its codes, its sheets entered, its teas revealed. Gives the ledger.
async fn hold(folder: &Path, n: usize, say: &dyn Fn(&str)) -> Told<String> {
    let path = folder.join(format!("class-{}.toml", n + 1));
    let text = fs::read_to_string(&path)?;
    let class = read::class(&text)
        .map_err(|faults| faults.render(&path.display().to_string(), &text, "no class was held"))?;
    let ledger = folder.join(format!("class-{}.ledger", n + 1));
    let class = revealed(&ledger, class, SEED + n as u64).await?;
    let sheets = folder.join(format!("class-{}.csv", n + 1));
    fs::write(&sheets, sheet(&class, n, SEATS))?;
    let (ledger, sheets) = (ledger.display().to_string(), sheets.display().to_string());
    let names = tasters::names(SEATS);
    let mut args = vec!["enter", &ledger, &sheets];
    names.iter().for_each(|name| args.extend(["--new-seat", name]));
    kettlecall(folder, &args, say)?;
    Ok(ledger)
}

/// A new ledger of the class, whose teas may be named; the class with its codes.
async fn revealed(ledger: &Path, class: Class, seed: u64) -> Told<Class> {
    let opened = open(Sqlite::open(ledger)?, class, Opening::now(seed, 1.0))?;
    let class = opened.room.class.clone();
    let host = Host::start(opened);
    let asked = host.handle.teacher(Teacher::Reveal(None)).await?;
    host.stop().await?;
    asked.map_err(|refusal| refusal.reason)?;
    Ok(class)
}

/// What the JSON of the spot says of the leaf.
fn found(json: &Value) -> Told<Found> {
    let answer = &json["leaves"][0]["answer"];
    let number = |value: &Value| value.as_f64().ok_or_else(|| format!("no number in {answer}"));
    let best = &answer["best"];
    let region = answer["region"]["factors"].as_array().ok_or("no region was found")?;
    let ends = region.iter().map(|factor| Ok((number(&factor["low"])?, number(&factor["high"])?)));
    Ok(Found {
        best: [
            number(&best["dose_g_per_100_ml"])?,
            number(&best["temp_c"][0])?,
            number(&best["steep_s"][0])?,
        ],
        region: ends.collect::<Result<_, String>>()?,
    })
}

/// The truth beside what was found, in words.
pub fn verdict(found: &Found) -> String {
    let [g, c, s] = TRUTH;
    let [best_g, best_c, best_s] = found.best;
    let ranges: Vec<String> = found
        .region
        .iter()
        .zip([("g to 100 ml", 1), ("°C", 0), ("s", 0)])
        .map(|((low, high), (unit, digits))| format!("{low:.digits$} to {high:.digits$} {unit}"))
        .collect();
    let holds = if found.holds_the_truth() { "It does" } else { "It does not" };
    format!(
        "What the tasters were made to like best: {g} g to 100 ml at {c} °C, first steep {s} s.\n\
         What was found:                          {best_g} g to 100 ml at {best_c} °C, first steep {best_s} s.\n\
         Where it may lie by what was found:      {}.\n\
         Should that hold what they like? {holds}.",
        ranges.join(", ")
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    /// All of it in earnest: the same commands, ledgers and pages.
    #[tokio::test]
    async fn the_story_finds_what_its_tasters_like_and_writes_every_page() {
        let folder = tempfile::tempdir().unwrap();
        let found = tell(folder.path(), &|_| {}).await.unwrap();
        assert!(found.holds_the_truth(), "{found:?}");
        // It has ruled something out.
        let (low, high) = found.region[0];
        assert!(high / low < 2.2, "{found:?}");
        let page = |name: &str| fs::read_to_string(folder.path().join(name)).unwrap();
        assert!(page("ways.html").contains("Dag"));
        assert_eq!(page("spot.html").matches("<svg").count(), 6);
        assert!(
            page("guide.html").contains("found from 18 ways, tasted in 3 classes, 24 seats"),
            "{}",
            page("guide.html")
        );
        let verdict = verdict(&found);
        assert!(verdict.ends_with("It does."), "{verdict}");
    }
}
