//! Whether the page of several classes says in one place what it denies in another.

use stats::penalty::Hint;
use summary::say::brief::Matter;
use summary::several::Pool;
use summary::several::pairs::Pair;
use summary::several::together::Together;

/// Pairs against the test of all ways, letters, means, intervals, sentences and the short list; advice against what is shown.
pub fn is_at_odds(pool: &Pool) -> bool {
    pool.pairs.iter().any(|pair| {
        of_all(pool, pair).is_some_and(|found| against_all(found, pair))
            || in_words(pair)
            || in_short(pool, pair)
    }) || letters_alone(pool)
        || advised(pool)
}

/// The comparison of all ways that a pair is one of.
fn of_all<'a>(pool: &'a Pool, pair: &Pair) -> Option<&'a Together> {
    let has = |found: &&Together| found.ways.contains(&pair.first) && found.ways.contains(&pair.second);
    pool.together.iter().filter(|found| found.attribute == pair.attribute).find(has)
}

fn against_all(found: &Together, pair: &Pair) -> bool {
    let mean = |way: usize| found.means.iter().find(|mean| mean.way == way);
    let Some((first, second)) = mean(pair.first).zip(mean(pair.second)) else { return false };
    let apart = !first.letters.chars().any(|letter| second.letters.contains(letter));
    let turned = pair.points() * (first.adjusted_mean - second.adjusted_mean) < 0.0;
    (pair.shown() && (!found.shown() || turned)) || apart != pair.shown()
}

/// The interval beside the verdict leaves out 0 exactly where a difference is shown, and no figure does beside "no difference".
fn in_words(pair: &Pair) -> bool {
    let (low, high) = pair.all_ways.as_ref().map_or((None, None), |all| (all.low, all.high));
    let apart = low.zip(high).map(|(low, high)| low > 0.0 || high < 0.0);
    let told = pair.words.match_indices("95 % interval ").any(|(at, before)| {
        let mut ends = pair.words[at + before.len()..].split(' ');
        let sign = |end: Option<&str>| end.and_then(|end| end.chars().next());
        let (low, _, high) = (sign(ends.next()), ends.next(), sign(ends.next()));
        low == high && matches!(low, Some('+' | '−'))
    });
    apart.is_some_and(|apart| apart != pair.shown()) || (told && !pair.shown())
}

/// The short list has one way liked more, or above, where the pair is not shown.
fn in_short(pool: &Pool, pair: &Pair) -> bool {
    let way = |number: usize| pool.ways.iter().map(|line| &line.way).find(|way| way.way == number);
    let Some((first, second)) = way(pair.first).zip(way(pair.second)) else { return false };
    let best = of_all(pool, pair).and_then(|found| found.means.first()).map(|mean| mean.way);
    let of_best = best.is_some_and(|best| best == pair.first || best == pair.second);
    let leaf = first.known.as_ref().filter(|_| pair.same_leaf).map(|known| known.leaf.as_str());
    pool.brief.iter().any(|line| match line.matter {
        Matter::Liked => {
            let every =
                line.short.contains("more than every other") || line.short.contains("more than the other");
            let named = line.short.split_once("liked more than ").is_some_and(|(_, behind)| {
                let named = behind.split(';').next().unwrap_or_default();
                let other = if best == Some(pair.first) { second } else { first };
                named.split([',', '.']).any(|name| name.trim() == other.called)
            });
            // Of ways that tasters do not link there is a line each.
            let of_these = best.and_then(way).is_some_and(|best| line.short.contains(&best.called));
            of_best && of_these && (every || named) && !pair.shown()
        }
        Matter::Ways => leaf.is_some_and(|leaf| {
            let said = line.text.contains(&format!("differs for {leaf} ("))
                || line.text.contains(&format!("and {leaf} ("));
            let any = pool
                .pairs
                .iter()
                .filter(|other| other.same_leaf)
                .any(|other| other.shown() && way(other.first).is_some_and(|way| way.same_leaf(first)));
            let not = line.text.contains("no difference is shown") && !line.text.contains(" differs");
            (said && !any) || (not && pair.shown())
        }),
        _ => false,
    })
}

/// Of the other attributes: letters tell ways apart where the test of all shows nothing.
fn letters_alone(pool: &Pool) -> bool {
    pool.together.iter().any(|found| !found.shown() && found.by_letters())
}

/// A sentence on votes that would have a tea changed though nothing is shown.
fn advised(pool: &Pool) -> bool {
    let says = |words: &str| {
        ["engthen", "horten", "steep it ", "leave it", "a hint"].iter().any(|advice| words.contains(advice))
    };
    let of_ways = pool.strength.iter().filter(|votes| !votes.shown || votes.hint.hint == Hint::TooFewToTell);
    let of_steeps = pool.rules.iter().filter(|rule| rule.p_of_all > stats::interval::SIGNIFICANCE);
    of_ways.map(|votes| &votes.words).chain(of_steeps.map(|rule| &rule.words)).any(|words| says(words))
}
