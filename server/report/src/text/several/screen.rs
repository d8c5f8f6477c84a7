//! What several classes found on one screen of a terminal: the short list, the ways by liking, and how each was steeped. Where there
//! is too little room, empty lines go first, then how the ways were steeped, then the end of the short list.

use super::Page;
use crate::text::charts::Scale;
use crate::text::lines::{Lines, wrapped};
use crate::text::screen::{GAP, NAME, ROWS, end, set};
use crate::words::LIKING;
use stats::say::signed;
use summary::several::Pool;
use summary::several::together::Together;
use summary::several::ways::Way;
use unicode_width::UnicodeWidthStr;

/// The first screen in lines of at most 80 columns, and of at most `rows` lines where the ways leave room for that. `again` is the
/// command that was typed.
pub fn screen(pool: &Pool, (width, rows): (usize, usize), again: &str) -> String {
    let width = width.clamp(60, 81) - 1;
    let mut page = Page { pool, out: Lines::new(width) };
    page.head();
    let head: Vec<String> = page.out.finish().lines().map(String::from).collect();
    let short: Vec<Vec<String>> = pool.brief.iter().map(|line| wrapped(GAP, line, width)).collect();
    let (drawn, steeped, end) = (ways(pool, width), recipes(pool, width), end(again, width));
    // The line of the prompt is below, and one says in short.
    let left = (rows.max(ROWS) - 2).saturating_sub(head.len() + drawn.len() + end.len());
    let steeped = if cut(short.clone(), left.saturating_sub(steeped.len())).len() + steeped.len() <= left {
        steeped
    } else {
        Vec::new()
    };
    let left = left.saturating_sub(steeped.len());
    let short = cut(short, left);
    let free = left.saturating_sub(short.len());
    let short = if short.is_empty() { short } else { [vec!["IN SHORT".to_string()], short].concat() };
    let mut blocks = vec![head, short, drawn, steeped, end];
    blocks.retain(|block| !block.is_empty());
    let lines = if free >= blocks.len() - 1 { blocks.join(&String::new()) } else { blocks.concat() };
    lines.iter().map(|line| format!("{line}\n")).collect()
}

/// As many sentences as have room in whole, the first at least, and how many more there are.
fn cut(mut sentences: Vec<Vec<String>>, room: usize) -> Vec<String> {
    let all = sentences.len();
    let length = |sentences: &[Vec<String>]| sentences.iter().map(Vec::len).sum::<usize>();
    if length(&sentences) > room {
        while sentences.len() > 1 && length(&sentences) + 1 > room {
            sentences.pop();
        }
    }
    let more = all - sentences.len();
    let told = (more > 0).then(|| vec![format!("{GAP}… and {more} more, with the rest")]);
    sentences.into_iter().chain(told).flatten().collect()
}

/// What the ways are put in order by: of the liking, else of the first attribute, the comparison by the most tasters.
fn lead(pool: &Pool) -> Option<&Together> {
    let compared = || pool.together.iter().filter(|found| !found.means.is_empty());
    let liking = |found: &&Together| found.attribute.name.eq_ignore_ascii_case(LIKING);
    let name = compared().find(liking).or_else(|| compared().next()).map(|found| &found.attribute.name)?;
    compared().filter(|found| found.attribute.name == *name).max_by_key(|found| found.tasters)
}

fn way(pool: &Pool, number: usize) -> Option<&Way> {
    pool.ways.iter().map(|line| &line.way).find(|way| way.way == number)
}

/// Each way on the scale, the highest mean first.
fn ways(pool: &Pool, width: usize) -> Vec<String> {
    let Some(found) = lead(pool) else { return Vec::new() };
    let label = |number: usize| way(pool, number).map_or(format!("way {number}"), Way::label);
    let head = found.attribute.name.to_uppercase();
    let named = found.means.iter().map(|mean| label(mean.way).width()).max().unwrap_or(0).min(NAME);
    let columns = named.max(head.width().min(NAME).saturating_sub(GAP.len()));
    let letters = found.means.iter().map(|mean| mean.letters.len()).max().unwrap_or(0);
    let ends = (f64::from(found.attribute.min), f64::from(found.attribute.max));
    let scale = Scale::new(ends.0, ends.1, width - 3 * GAP.len() - columns - 6 - letters);
    let axis = format!("{}{GAP}{}", set(&head, columns + GAP.len()), scale.axis());
    let drawn = scale.columns() + columns + 2 * GAP.len();
    let mut lines = vec![format!("{axis:drawn$} mean")];
    lines.extend(found.means.iter().map(|mean| {
        let (row, value) = (scale.dots_and_mean(&[], mean.adjusted_mean), signed(mean.adjusted_mean));
        format!("{GAP}{}{GAP}{row}{value:>5} {}", set(&label(mean.way), columns), mean.letters)
    }));
    let classes = if found.classes == 1 { "class" } else { "classes" };
    let of = format!("| the mean of {} tasters in {} {classes}", found.tasters, found.classes);
    lines.extend(wrapped(GAP, &format!("{of} · a letter in common: not shown to differ"), width));
    lines.iter().map(|line| line.trim_end().to_string()).collect()
}

/// How each of the ways was steeped that is no longer blind, in the same order; those that were not compared with these, last.
fn recipes(pool: &Pool, width: usize) -> Vec<String> {
    let compared: Vec<usize> =
        lead(pool).map_or(Vec::new(), |f| f.means.iter().map(|mean| mean.way).collect());
    let others = pool.ways.iter().map(|line| line.way.way).filter(|number| !compared.contains(number));
    let all: Vec<&Way> =
        compared.iter().copied().chain(others).filter_map(|number| way(pool, number)).collect();
    let line = |way: &&Way| {
        let text = format!("{GAP}{:<7}{GAP}{}", format!("way {}", way.way), way.known.as_ref()?.steeping);
        Some(set(&text, width).trim_end().to_string())
    };
    let lines: Vec<String> = all.iter().filter_map(line).collect();
    let head = (!lines.is_empty()).then(|| "WAYS     as steeped".to_string());
    head.into_iter().chain(lines).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::text::several::tests::pooled;

    #[test]
    fn several_classes_fit_one_screen() {
        let shown = |size| screen(&pooled(), size, "kettlecall review a.ledger b.ledger");
        insta::assert_snapshot!("several-80x24", shown((80, 24)));
        insta::assert_snapshot!("several-80x40", shown((80, 40)));
        for (width, rows) in [(60, 24), (70, 30), (80, 24), (120, 50)] {
            let shown = shown((width, rows));
            assert!(shown.lines().all(|line| line.width() < width.min(81)), "{shown}");
            assert!(shown.lines().count() < rows && shown.contains("--full"), "{shown}");
        }
    }
}
