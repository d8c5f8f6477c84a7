//! Several classes as one page: what they found in short, the ways in a picture for each attribute, which classes they were; the
//! sentences with their evidence and the tables folded.

use crate::page::STYLE;
use crate::page::axis::Axis;
use crate::page::canvas::{Drawing, Pen, Side, WIDTH, fitted, width_of};
use crate::page::facts::Figure;
use crate::page::how::How;
use crate::page::look::Ink;
use crate::page::parts::{Pictures, behind, beside, folded, list, unbroken};
use crate::tables::{Table, pooled};
use crate::words::{LIKING, phase};
use maud::{Markup, html};
use protocol::say::many;
use stats::say::{fine, signed};
use summary::several::Pool;
use summary::several::say::{beyond, rehearsed};
use summary::several::together::{Mean, Together};
use summary::several::ways::Way;

/// The lines of a way in a picture: two of words, one for its mean.
const ROW: f64 = 56.0;
const TOP: f64 = 19.0;

/// The whole page.
pub fn html(pool: &Pool) -> String {
    let mut pictures = Pictures::default();
    let tables = pooled(pool);
    let mut compared: Vec<&Together> = pool.together.iter().filter(|found| !found.means.is_empty()).collect();
    // What is liked first, and of that what most classes and then most tasters stand behind: one class's own ways are not the whole.
    compared.sort_by_key(|found| {
        let other = !found.attribute.name.eq_ignore_ascii_case(LIKING);
        (other, std::cmp::Reverse((found.classes, found.tasters)))
    });
    let mut figures =
        compared.into_iter().map(|found| pictures.picture(&Ok(figure(pool, found)), &means(&tables)));
    let first = figures.next();
    let others: Vec<Markup> = figures.collect();
    let title = format!("{} together", in_classes(pool.counted().count()));
    let body = html! {
        header {
            h1 { (title) }
            @for text in heading(pool) { p { (unbroken(&text)) } }
        }
        div class="first" {
            section { h2 { "In short" } (list(pool.brief.iter().map(|line| (None, &line.text)))) }
            @if let Some(first) = first { (first) }
        }
        main {
            @if !others.is_empty() { section { h2 { "The other pictures" } (beside(others)) } }
            section { h2 { "The classes" } (list(classes(pool).iter().map(|line| (None, line)))) }
            section class="folded" { h2 { "Every finding with its evidence" } (evidence(pool)) }
            section class="folded" { h2 { "The figures" } (behind(&tables)) }
        }
    };
    crate::html::page(&title, STYLE, &body)
}

/// "1 class", "3 classes".
fn in_classes(count: usize) -> String {
    format!("{count} {}", if count == 1 { "class" } else { "classes" })
}

/// The means, as the pictures show them.
fn means(tables: &[Table]) -> Vec<Table> {
    tables.iter().filter(|table| table.name == "means").cloned().collect()
}

/// How many there were, and what has to be known before anything else is read.
fn heading(pool: &Pool) -> Vec<String> {
    let seats = many(pool.counted().map(|class| class.seats).sum(), "seat");
    let sheets = many(pool.counted().map(|class| class.sheets).sum(), "sheet");
    let damaged = pool
        .classes
        .iter()
        .flat_map(|class| class.damage.iter().map(move |words| format!("Class {}: {words}", class.class)));
    std::iter::once(format!("{seats} · {sheets}"))
        .chain(rehearsed::sentence(pool))
        .chain(damaged)
        .chain(beyond::sentence(pool))
        .collect()
}

fn classes(pool: &Pool) -> Vec<String> {
    let line = |class: &summary::several::ClassLine| {
        let (seats, sheets) = (many(class.seats, "seat"), many(class.sheets, "sheet"));
        let ways: Vec<&str> = class.ways.iter().map(|&way| pool.called(way)).collect();
        let blind: Vec<String> = class.still_blind.iter().map(ToString::to_string).collect();
        let blind = match blind.is_empty() {
            true => String::new(),
            false => format!(" · still blind, so joined with no other class: {}", blind.join(", ")),
        };
        let (title, phase) = (&class.title, phase(class.phase));
        format!(
            "{}: {} · {title} · {phase} · {seats} · {sheets} · {}{blind}",
            class.class,
            class.date,
            ways.join("; ")
        )
    };
    pool.classes.iter().map(line).collect()
}

/// The sentences, by what they are about.
fn evidence(pool: &Pool) -> Markup {
    let own =
        |same: bool| pool.pairs.iter().filter(move |pair| pair.same_leaf == same).map(|pair| &pair.words);
    let groups: [(&str, Vec<&String>); 5] = [
        ("Do the ways differ?", pool.together.iter().map(|found| &found.words).collect()),
        ("Two ways of one leaf", own(true).collect()),
        ("Other pairs", own(false).collect()),
        ("How long to steep next time", pool.strength.iter().map(|votes| &votes.words).collect()),
        ("The votes steep by steep", pool.rules.iter().map(|rule| &rule.words).collect()),
    ];
    html! {
        @for (head, lines) in groups.iter().filter(|(_, lines)| !lines.is_empty()) {
            (folded(head, &list(lines.iter().map(|line| (None, *line)))))
        }
    }
}

fn figure(pool: &Pool, found: &Together) -> Figure {
    let way = |mean: &Mean| pool.ways.iter().find(|line| line.way.way == mean.way).map(|line| &line.way);
    let rows: Vec<(&Mean, Option<&Way>)> = found.means.iter().map(|mean| (mean, way(mean))).collect();
    let name = &found.attribute.name;
    let told = rows.iter().map(|(mean, way)| {
        format!(
            "{} ({}): mean {}, letters {}.",
            label(mean, *way),
            many(mean.n, "taster"),
            fine(mean.adjusted_mean),
            mean.letters
        )
    });
    Figure {
        title: format!("the ways by {name}"),
        described: told.collect::<Vec<_>>().join(" "),
        caption: format!(
            "The diamond is the mean of {} in {}, the line its 95 % interval, {}. {}Scale {} to {}.",
            many(found.tasters, "taster"),
            in_classes(found.classes),
            match found.for_others() {
                true => "each class counted once, as one of many that might be given",
                false => "by the tasters of these classes",
            },
            match (found.decision, found.by_letters()) {
                (None, _) => "",
                (Some(_), true) => "Ways with a letter in common are not shown to differ. ",
                (Some(decision), false) if decision.shown => {
                    "That the ways differ is shown, but not which of them. "
                }
                (Some(_), false) => "Too close to call: no difference is shown. ",
            },
            found.attribute.min,
            found.attribute.max
        ),
        evidence: found.words.clone(),
        how: How::Pooled,
        drawing: drawn(found, &rows),
    }
}

fn label(mean: &Mean, way: Option<&Way>) -> String {
    way.map_or(format!("way {}", mean.way), |way| way.called.clone())
}

fn drawn(found: &Together, rows: &[(&Mean, Option<&Way>)]) -> Drawing {
    let axis = Axis::new((found.attribute.min.into(), found.attribute.max.into()), (12.0, WIDTH - 12.0));
    let height = TOP + rows.len() as f64 * ROW;
    Drawing::of(height, |pen| {
        axis.above(pen, TOP - 2.0, height, 10);
        for (i, (mean, way)) in rows.iter().enumerate() {
            let letters = if found.by_letters() { mean.letters.as_str() } else { "" };
            row(pen, &axis, (mean, letters), *way, TOP + i as f64 * ROW);
        }
    })
}

fn row(pen: &mut Pen, axis: &Axis, (mean, letters): (&Mean, &str), way: Option<&Way>, top: f64) {
    // Paper behind the words, so that the axis's lines don't cross them.
    pen.bar((0.0, top + 1.0), (WIDTH, top + 33.0), Ink::Paper);
    let figure = format!("{} {letters}", signed(mean.adjusted_mean));
    pen.bold(&figure, (WIDTH - 4.0, top + 10.0), Side::Left, Ink::Black);
    let room = WIDTH - width_of(&figure) * 1.1 - 20.0;
    pen.bold(&fitted(&label(mean, way), room), (2.0, top + 10.0), Side::Right, Ink::Black);
    let steeped = way
        .and_then(|way| way.known.as_ref())
        .map_or("still blind".into(), |known| known.steeping.to_string());
    pen.text(&fitted(&steeped, WIDTH - 6.0), (2.0, top + 26.0), Side::Right, Ink::Grey);
    let (x, y) = (axis.place(mean.adjusted_mean), top + 44.0);
    pen.line(&[mean.low, mean.high].map(|end| (axis.place(end), y)), Ink::Black, 1.6);
    pen.area(&[(x, y - 5.0), (x + 5.0, y), (x, y + 5.0), (x - 5.0, y)], Ink::Black);
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::page::tests::check::page_is_sound;
    use fixtures::several::{held, plain};
    use room::Room;
    use room::light::ClassScores;
    use summary::several::digest::Digest;
    use summary::several::pool;

    fn pooled_classes(blind: bool) -> Pool {
        let classes = [("2026-11-28", false, 100), ("2026-12-05", blind, 300)].map(|(date, blind, first)| {
            let record = ClassScores::of(&Room::replay(held(date, blind, first, 6, plain)).unwrap());
            let digest = Digest::of(&record);
            (record, digest)
        });
        pool(&classes)
    }

    #[test]
    fn several_classes_have_a_page_that_begins_with_what_they_found() {
        let pool = pooled_classes(false);
        let page = html(&pool);
        page_is_sound(&page).unwrap();
        let at = |words: &str| page.find(words).unwrap_or_else(|| panic!("{words}: {page}"));
        let order = [
            "<h1>2 classes together</h1>",
            "In short</h2>",
            "The ways by liking</h3>",
            "The classes</h2>",
            "The figures</h2>",
        ];
        assert!(order.windows(2).all(|pair| at(pair[0]) < at(pair[1])), "{:?}", order.map(at));
        for way in &pool.ways {
            assert!(page.contains(&way.way.called), "{}", way.way.called);
        }
        assert!(page.contains(">Pier<"), "by its name where the classes agree on one");
        assert!(page.contains("Lantern Slope (way 1)"), "by its leaf where they do not");
    }

    #[test]
    fn what_is_blind_in_its_ledger_is_named_nowhere_on_the_page() {
        let page = html(&pooled_classes(true));
        page_is_sound(&page).unwrap();
        assert!(!page.contains("Slope, long 300") && page.contains("still blind"));
    }
}
