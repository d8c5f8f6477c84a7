//! What several classes found on one screen of a terminal: the short list, the ways by liking, and how each was steeped. Where there
//! is too little room, empty lines go first and sentences get shorter, then how the ways were steeped goes, as on the screen of one
//! class.

use super::Page;
use crate::text::lines::{Lines, wrapped};
use crate::text::screen::picture::{Row, called, picture};
use crate::text::screen::short::{Found, Length, Screen, Tried};
use crate::text::screen::{GAP, ROWS, end, set};
use crate::words::LIKING;
use summary::several::Pool;
use summary::several::together::Together;
use summary::several::ways::Way;

/// How much room there is beside the short list.
#[derive(Clone, Copy, PartialEq, PartialOrd)]
enum Room {
    /// For nothing else.
    None,
    /// For the ways by liking.
    Picture,
    /// For what the marks mean, too.
    Key,
    /// For how the ways were steeped, too.
    Enough,
}

/// The first screen in lines of at most 80 columns, and of at most `rows` lines where the ways leave room for that. `again` is the
/// command that was typed.
pub fn screen(pool: &Pool, (width, rows): (usize, usize), again: &str) -> String {
    let width = width.clamp(60, 81) - 1;
    let mut page = Page { pool, out: Lines::new(width) };
    page.head();
    let below = |room: Room| {
        let mut blocks = Vec::new();
        blocks.extend((room >= Room::Picture).then(|| ways(pool, width, room)));
        blocks.extend((room >= Room::Enough).then(|| recipes(pool, width)));
        blocks.push(end(again, width));
        blocks
    };
    let list = |short| Found::all(&pool.brief, short, width);
    let screen = Screen {
        head: page.out.finish().lines().map(String::from).collect(),
        list: (list(false), list(true)),
        rows: rows.max(ROWS),
        below: &below,
    };
    screen.laid_out(&Tried {
        whole: &[
            (Length::Full, Room::Enough),
            (Length::Brief, Room::Enough),
            (Length::Full, Room::Key),
            (Length::Brief, Room::Key),
        ],
        cut: &[Room::Enough, Room::Key, Room::Picture, Room::None],
    })
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

/// Each way on the scale, the highest mean first, and what the marks mean where there is room for it.
fn ways(pool: &Pool, width: usize, room: Room) -> Vec<String> {
    let Some(found) = lead(pool) else { return Vec::new() };
    let ends = (f64::from(found.attribute.min), f64::from(found.attribute.max));
    let by_letters = found.by_letters();
    let rows: Vec<Row<'_>> = found
        .means
        .iter()
        .map(|mean| Row {
            called: way(pool, mean.way).map_or(String::new(), |way| way.called.clone()),
            scores: &[],
            mean: mean.adjusted_mean,
            letters: if by_letters { &mean.letters } else { "" },
        })
        .collect();
    let mut lines = picture(&found.attribute.name, ends, &rows, width);
    if room >= Room::Key {
        let alike = match (found.decision, by_letters) {
            (None, _) => "",
            (Some(_), true) => " · a letter in common: not shown to differ",
            (Some(_), false) => " · too close to call",
        };
        lines.extend(wrapped(GAP, &format!("| the mean{alike}"), width));
    }
    lines
}

/// How each of the ways was steeped that is no longer blind, in the same order; those that were not compared with these, last.
fn recipes(pool: &Pool, width: usize) -> Vec<String> {
    let compared: Vec<usize> =
        lead(pool).map_or(Vec::new(), |f| f.means.iter().map(|mean| mean.way).collect());
    let others = pool.ways.iter().map(|line| line.way.way).filter(|number| !compared.contains(number));
    let all = compared.iter().copied().chain(others).filter_map(|number| way(pool, number));
    let known: Vec<(&str, String)> =
        all.filter_map(|way| Some((way.called.as_str(), way.known.as_ref()?.steeping.to_string()))).collect();
    let columns = called(known.iter().map(|(called, _)| *called)).max("WAYS".len() - GAP.len());
    let line = |(called, steeping): &(&str, String)| {
        let text = format!("{GAP}{}{GAP}{steeping}", set(called, columns));
        set(&text, width).trim_end().to_string()
    };
    let head = (!known.is_empty()).then(|| format!("{}{GAP}as steeped", set("WAYS", columns + GAP.len())));
    head.into_iter().chain(known.iter().map(line)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::text::several::tests::{of, pooled};
    use unicode_width::UnicodeWidthStr;

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

    /// Six ways, eight attributes beside the liking, votes on all: what matters most is there, and the picture.
    #[test]
    fn with_many_attributes_and_ways_it_still_fits() {
        for (classes, leaves, ways) in [(1, 3, 2), (2, 3, 2), (3, 3, 2), (4, 2, 3), (3, 1, 2), (3, 6, 1)] {
            let points = |class: u16, leaf: u16, way: u16, at: usize| {
                1 + 2 * i32::from(way + leaf % 2) + i32::from((class + leaf) as usize == at)
            };
            let pool = of(fixtures::several::leaves((classes, leaves, ways, 8), points, |leaf, way| {
                [1, 0, -1][usize::from(leaf + way) % 3]
            }));
            for (width, rows) in [(60, 24), (80, 24), (100, 30)] {
                let shown = screen(&pool, (width, rows), "kettlecall review a.ledger b.ledger");
                assert!(shown.lines().count() < rows && shown.contains("Next time: "), "{shown}");
                assert!(width < 80 || shown.contains("LIKING"), "{shown}");
                if (classes, leaves, width) == (3, 3, 80) {
                    insta::assert_snapshot!("several-many-80x24", shown);
                }
            }
        }
    }
}
