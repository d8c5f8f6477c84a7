//! What a class found on one screen of a terminal: the short list, the teas by liking, how they were steeped and how strong they
//! were found. Where there is too little room, empty lines go first and sentences get shorter, then what [`Room`] names goes, so that
//! nobody misses what was liked best, what to change, whether ways of a leaf differ and what so few can't show.

pub(super) mod picture;
pub(super) mod short;

use super::Page;
use super::lines::{Lines, wrapped};
use crate::lead::{Apart, Lead};
use crate::words::label;
use picture::{Row, picture};
use short::{Found, Length, Screen, Tried};
use summary::{StrengthLine, Summary, TeaLine};
use unicode_width::UnicodeWidthStr;

/// Between columns.
pub(super) const GAP: &str = "  ";
/// The most columns for what a tea is called.
pub(super) const NAME: usize = 34;
/// The least rows that are reckoned with.
pub(super) const ROWS: usize = 24;

/// How much room there is beside the short list.
#[derive(Clone, Copy, PartialEq, PartialOrd)]
enum Room {
    /// For nothing else.
    None,
    /// For the teas by liking.
    Picture,
    /// For how they were steeped and how strong they were found, too.
    Tight,
    /// For what the marks mean, too.
    Key,
    /// For the names of teas that are left out, too.
    Enough,
    /// For what the ends of the scale mean, too.
    Ample,
}

/// The first screen in lines of at most 80 columns, and of at most `rows` lines where the teas leave room for that. `again` is the
/// command that was typed.
pub fn screen(summary: &Summary, (width, rows): (usize, usize), again: &str) -> String {
    let width = width.clamp(60, 81) - 1;
    let part = |write: &dyn Fn(&mut Page<'_>)| {
        let mut page = Page { summary, out: Lines::new(width) };
        write(&mut page);
        page.out.finish().lines().map(String::from).collect::<Vec<String>>()
    };
    let lead = Lead::of(summary).filter(|lead| !lead.teas.is_empty());
    let below = |room: Room| {
        let mut blocks = Vec::new();
        if let Some(lead) = &lead {
            blocks.extend((room >= Room::Picture).then(|| liking(lead, width, room)));
            blocks.extend((room >= Room::Tight).then(|| teas(lead, width)));
        }
        blocks.push(part(&|page| page.still_blind()));
        blocks.push(end(again, width));
        blocks
    };
    let screen = Screen {
        head: part(&|page| page.head()),
        list: (found(summary, width, false), found(summary, width, true)),
        rows: rows.max(ROWS),
        below: &below,
    };
    screen.laid_out(&Tried {
        whole: &[
            (Length::Full, Room::Ample),
            (Length::Full, Room::Enough),
            (Length::Brief, Room::Enough),
            (Length::Full, Room::Key),
            (Length::Brief, Room::Key),
        ],
        // Marks that nobody can read are worth less than a sentence that need not be kept.
        cut: &[Room::Key, Room::Tight, Room::Picture, Room::None],
    })
}

/// The short list; while nothing is in short, whatever else was found.
fn found(summary: &Summary, width: usize, short: bool) -> Vec<Found> {
    let found = &summary.findings;
    if found.brief.is_empty() {
        let told = found.sentences.iter().enumerate();
        return told.map(|(place, sentence)| Found::in_order(&sentence.text, place, width)).collect();
    }
    Found::all(&found.brief, short, width)
}

/// A text in so many columns, filled up or cut.
pub(super) fn set(text: &str, columns: usize) -> String {
    let mut shown = String::new();
    for c in text.chars() {
        let next = format!("{shown}{c}");
        if next.width() + usize::from(text.width() > columns) > columns {
            shown.push('…');
            break;
        }
        shown = next;
    }
    let fill = columns.saturating_sub(shown.width());
    shown + &" ".repeat(fill)
}

/// Each tea on the scale, the highest mean first; with what the marks and the ends of the scale mean where there is
/// room for it.
fn liking(lead: &Lead<'_>, width: usize, room: Room) -> Vec<String> {
    let rows: Vec<Row<'_>> = lead
        .teas
        .iter()
        .map(|of| Row { called: label(of.tea), scores: &of.tasters, mean: of.mean, letters: &of.letters })
        .collect();
    let mut lines = picture(lead.name, lead.ends, &rows, width);
    if room >= Room::Key {
        let alike = match lead.apart {
            Apart::Unknown => "",
            Apart::ByLetters => " · a letter in common: not shown to differ",
            Apart::NotShown | Apart::NotWhich => " · too close to call",
        };
        let gaps = if lead.adjusted { ", missing scores allowed for" } else { "" };
        lines.extend(wrapped(GAP, &format!("o one taster, 2 two · | the mean{gaps}{alike}"), width));
    }
    if room == Room::Ample && lead.has_words {
        lines.extend(wrapped(GAP, &lead.scale, width));
    }
    let left_out = lead.left_out.iter();
    match room {
        Room::Enough | Room::Ample => lines.extend(
            left_out
                .flat_map(|(tea, why)| wrapped(GAP, &format!("{} is left out: {why}", label(tea)), width)),
        ),
        _ if lead.left_out.is_empty() => {}
        _ => {
            let each: Vec<String> = left_out.map(|(tea, why)| format!("{} ({why})", tea.code)).collect();
            lines.extend(wrapped(GAP, &format!("left out: {}", each.join(", ")), width));
        }
    }
    lines.iter().map(|line| line.trim_end().to_string()).collect()
}

/// How each tea was steeped and how strong it was found, in the same order: steep by steep, even if only the codes have room
/// beside it, else over the steeps.
fn teas(lead: &Lead<'_>, width: usize) -> Vec<String> {
    let of_lead = lead.teas.iter().map(|tea| tea.tea);
    let teas: Vec<&TeaLine> = of_lead.chain(lead.left_out.iter().map(|(tea, _)| *tea)).collect();
    let voted = teas.iter().any(|tea| tea.all_steeps.strength.is_some_and(|votes| votes.n > 0));
    let votes = |tea: &TeaLine, each: bool| {
        let steeps = tea.steeps.iter().filter_map(|cup| cup.figures.strength.as_ref());
        let all = tea.all_steeps.strength.as_ref();
        let counted: Vec<String> =
            if each { steeps.map(three).collect() } else { all.map(three).into_iter().collect() };
        counted.join(" ")
    };
    let columns = |(named, each): (bool, bool)| -> Vec<Vec<String>> {
        let strength = if each { "thin/right/strong by steep" } else { "thin/right/strong" };
        let column = |head: &str, cell: &dyn Fn(&TeaLine) -> String| -> Vec<String> {
            std::iter::once(head.to_string()).chain(teas.iter().map(|tea| cell(tea))).collect()
        };
        let name =
            |tea: &TeaLine| if named { format!("{GAP}{}", label(tea)) } else { format!("{GAP}{}", tea.code) };
        let mut all = vec![column("TEAS", &name), column("as served", &recipe)];
        all.extend(voted.then(|| column(strength, &|tea| votes(tea, each))));
        all
    };
    let wide = |column: &Vec<String>| column.iter().map(|cell| cell.width()).max().unwrap_or(0);
    let needed =
        |columns: &[Vec<String>]| columns.iter().map(wide).sum::<usize>() + (columns.len() - 1) * GAP.len();
    let mut ways = [(true, true), (false, true), (true, false), (false, false)].map(columns).into_iter();
    let last = ways.next_back().unwrap_or_default();
    let columns = ways.find(|columns| needed(columns) <= width).unwrap_or(last);
    // What still is too wide is the way of a tea with many steeps.
    let over = needed(&columns).saturating_sub(width);
    let widths: Vec<usize> =
        columns.iter().enumerate().map(|(i, column)| wide(column) - if i == 1 { over } else { 0 }).collect();
    let line = |row: usize| {
        let cells = columns.iter().zip(&widths).map(|(column, &width)| set(&column[row], width));
        cells.collect::<Vec<_>>().join(GAP).trim_end().to_string()
    };
    (0..=teas.len()).map(line).collect()
}

fn recipe(tea: &TeaLine) -> String {
    match &tea.recipe {
        None => "still blind".into(),
        Some(_) if tea.steeps.is_empty() => "not served".into(),
        Some(way) => way.to_string(),
    }
}

/// "1/5/2": too thin, just right, too strong.
fn three(votes: &StrengthLine) -> String {
    let [much_thin, thin, right, strong, much_strong] = votes.counts;
    format!("{}/{right}/{}", much_thin + thin, strong + much_strong)
}

/// How to see the rest.
pub(super) fn end(again: &str, width: usize) -> Vec<String> {
    wrapped("", &format!("The rest: {again} --full (as a page: -o class.html)"), width)
}

#[cfg(test)]
mod tests;
