//! Totals, two ways of one leaf, the strength vote, words, agreement: the figures behind their sentences.

use crate::text::attributes::{bare_p, between};
use crate::text::charts::{Scale, letter, votes};
use crate::text::table::Table;
use crate::text::{Page, figure};
use stats::say::{fine, signed};
use summary::find::agreement::IccFinding;
use summary::find::difference_tests::TestFound;
use summary::find::strength::{PenaltyFinding, PenaltyLine, PenaltySide, StrengthCup};
use summary::find::ticks::WordFinding;
use summary::known::Known;

const ADAPTED: &str = "STEEPS CHANGED BY THE VOTES";

impl Page<'_> {
    pub(super) fn totals(&mut self) {
        let Some(totals) = &self.summary.findings.figures.totals else { return };
        self.out.head("TOTAL out of 100");
        let weights = totals.weights.iter().map(|w| {
            let from = w.stretched_from.map_or(String::new(), |[min, max]| format!(" (from {min}–{max})"));
            format!("{} {} %{from}", w.attribute, w.percent)
        });
        let text = format!("{}: {}", totals.source, weights.collect::<Vec<_>>().join(", "));
        self.out.text("  ", &text);
        let axis = Scale::new(0.0, 100.0, self.out.width.min(80) - 33);
        self.out.line(&format!("        {}", axis.axis()));
        for tea in &totals.teas {
            let Some(mean) = tea.mean else { continue };
            let points = totals.tasters.iter().filter(|t| t.tea == tea.tea).map(|t| t.points);
            let (dots, columns) = (axis.dots(&points.collect::<Vec<f64>>()), axis.columns());
            let place = letter(self.place(tea.tea));
            self.out.line(&format!("  {place} {} {dots:columns$}  {mean:.1} (n {})", tea.tea, tea.n));
            let interval = tea.interval.get().copied();
            let shown = interval.map_or("–".into(), |i| format!("{} to {}", signed(i.low), signed(i.high)));
            self.out.line(&format!("        {:columns$}  {shown}", axis.interval(mean, interval)));
        }
        self.pairs(&totals.difference);
    }

    pub(super) fn ways(&mut self) {
        for ways in &self.summary.findings.figures.ways {
            let head = match ways.same_way {
                true => format!("ONE WAY, TWO CODES  {} (a check of the tasters)", ways.leaf),
                false => format!("ONE LEAF, TWO WAYS  {}", ways.leaf),
            };
            self.out.head(&head);
            self.out.text("  ", &format!("{}: {}", ways.first, ways.first_way));
            self.out.text("  ", &format!("{}: {}", ways.second, ways.second_way));
            let table = Table::of(&ways.comparisons)
                .words(&format!("{} − {}", ways.first, ways.second), |c| match c.steep {
                    Some(steep) => format!("{}/{steep}", c.attribute),
                    None => format!("{} all", c.attribute),
                })
                .numbers("n", |c| c.n.to_string())
                .numbers("mean", |c| figure(c.mean_difference))
                .numbers("95 % interval", |c| between(c.paired.get().map(|p| p.interval)))
                .numbers("p ranks", |c| bare_p(c.wilcoxon.get().map(|w| w.p)))
                .numbers("p Holm", |c| bare_p(c.p_holm))
                .numbers("least p", |c| bare_p(c.wilcoxon.get().map(|w| w.smallest_p)))
                .numbers("p t", |c| bare_p(c.paired.get().map(|p| p.p)))
                .numbers("d_z", |c| figure(c.paired.get().map(|p| p.d_z)));
            self.out.table(2, &table);
        }
    }

    pub(super) fn strength(&mut self) {
        let Some(strength) = self.summary.findings.figures.strength.as_ref() else { return };
        self.out.head("STRENGTH");
        let cups: Vec<[usize; 5]> = strength.cups.iter().map(|cup| cup.counts).collect();
        if cups.iter().flatten().sum::<usize>() == 0 {
            return self.out.line("  nobody has voted");
        }
        let (lines, per_mark) = votes(&cups, self.out.width - 44);
        let scale = if per_mark > 1 { format!("; one mark for {per_mark} votes") } else { String::new() };
        self.out.text(
            "  ",
            &format!("« much too thin  ‹ too thin  = just right  › too strong  » much too strong{scale}"),
        );
        let cups: Vec<(&StrengthCup, String)> = strength.cups.iter().zip(lines).collect();
        let table = Table::of(&cups)
            .words("cup", |(cup, _)| self.summary.cup(cup.tea, cup.steep))
            .words("votes", |(_, votes)| votes.clone())
            .numbers("thin", |(cup, _)| (cup.counts[0] + cup.counts[1]).to_string())
            .numbers("right", |(cup, _)| cup.counts[2].to_string())
            .numbers("strong", |(cup, _)| (cup.counts[3] + cup.counts[4]).to_string())
            .numbers("p Holm", |(cup, _)| bare_p(cup.hint.get().map(|hint| hint.p_holm)))
            .words("next time", |(cup, _)| match cup.hint.get() {
                Some(_) if strength.goes_with_its_tea(cup) => "as its tea".into(),
                Some(found) => found.shown().map_or("can't tell".into(), |shown| shown.to_string()),
                None => "–".into(),
            });
        self.out.table(2, &table);
        self.penalties();
    }

    /// The steeps that followed the votes while the class ran.
    pub(super) fn adapted(&mut self) {
        if self.summary.adapted.is_empty() {
            return;
        }
        self.out.head(ADAPTED);
        for steep in &self.summary.adapted {
            self.out.text("  ", &steep.text);
        }
    }

    /// What a wrong strength costs in liking, tea by tea.
    fn penalties(&mut self) {
        let Some(strength) = self.summary.findings.figures.strength.as_ref().filter(|s| s.liking.is_some())
        else {
            return;
        };
        let lines = &strength.over_steeps;
        if lines.iter().all(|line| line.penalty.get().is_none()) {
            if let Some(Known::Not { why }) = lines.last().map(|line| &line.penalty) {
                self.out.text("  ", &format!("What a wrong strength costs in liking can't be told: {why}."));
            }
            return;
        }
        let called = |line: &PenaltyLine| line.tea.map_or("all".to_string(), |tea| tea.to_string());
        let side = |side: Option<&PenaltySide>| {
            side.filter(|s| s.large_enough).map_or("–".into(), |s| format!("{} (n {})", fine(s.drop), s.n))
        };
        let right = |f: &PenaltyFinding| format!("{} (n {})", fine(f.just_right_mean), f.just_right);
        let table = Table::of(lines)
            .words("liking lost", called)
            .numbers("just right", |line| line.penalty.get().map_or("–".into(), right))
            .numbers("too thin: less by", |line| side(line.penalty.get().and_then(|f| f.too_thin.as_ref())))
            .numbers("too strong: less by", |line| {
                side(line.penalty.get().and_then(|f| f.too_strong.as_ref()))
            });
        self.out.line("");
        self.out.table(2, &table);
        for line in lines {
            if let Known::Not { why } = &line.penalty {
                self.out.text("  ", &format!("{}: {why}.", called(line)));
            }
        }
    }

    pub(super) fn words(&mut self) {
        let words = &self.summary.findings.figures.words;
        let Some(first) = words.first() else { return };
        self.out.head("WORDS");
        let mut table = Table::of(words)
            .words("ticked by", |word| word.word.clone())
            .numbers("p Holm", |word| bare_p(word.cochran.get().map(|q| q.p_holm)));
        for (place, tea) in first.teas.iter().enumerate() {
            let cell = |word: &WordFinding| format!("{} of {}", word.teas[place].n, word.teas[place].of);
            table = table.numbers(&tea.tea.to_string(), cell);
        }
        self.out.table(2, &table);
    }

    pub(super) fn difference_tests(&mut self) {
        let tests = &self.summary.findings.figures.tests;
        if tests.is_empty() {
            return;
        }
        self.out.head("DIFFERENCE TESTS");
        let share = |test: &TestFound| {
            let found = test.outcome.get()?.discriminators?;
            let least =
                if test.shown() { format!(" ({:.0} %)", found.at_least * 100.0) } else { String::new() };
            Some(format!("{:.0} %{least}", found.share * 100.0))
        };
        // What is shown goes by all tests together: a p or a power of one test by itself would say another thing beside it.
        let holm = if tests.iter().any(|test| test.family > 1) { "p Holm" } else { "p" };
        let codes = |test: &TestFound| {
            let [a, b] =
                test.teas.each_ref().map(|tea| tea.code.map_or("–".into(), |code| code.to_string()));
            format!("{a} {b} /{}", test.steep)
        };
        let table = Table::of(tests)
            .numbers("no.", |t| t.number.to_string())
            .words("kind", |t| t.kind.to_string())
            .words("teas/steep", codes)
            .numbers("right", |t| format!("{} of {}", t.correct, t.n))
            .numbers(holm, |t| bare_p(t.p_holm))
            .numbers("tell (at least)", |t| share(t).unwrap_or("–".into()))
            .numbers("power", |t| figure(t.power_sharing.get().map(|p| p.power)));
        self.out.table(2, &table);
    }

    pub(super) fn agreement(&mut self) {
        let all = &self.summary.findings.figures.agreement;
        self.out.head("AGREEMENT   over the steeps, tasters who scored every tea");
        let icc = |icc: &Known<IccFinding>| match icc.get() {
            Some(IccFinding { value, interval: Some(interval), .. }) => {
                format!("{} ({})", fine(*value), between(Some(*interval)))
            }
            Some(found) => fine(found.value),
            None => "–".into(),
        };
        let table = Table::of(all)
            .words("attribute", |a| a.attribute.clone())
            .numbers("tasters", |a| a.tasters.to_string())
            .numbers("W", |a| figure(a.kendall.get().map(|k| k.w)))
            .numbers("ICC(2,1)", |a| icc(&a.icc_2_1))
            .numbers("ICC(3,1)", |a| icc(&a.icc_3_1))
            .numbers("ICC(3,k)", |a| icc(&a.icc_3_k));
        self.out.table(2, &table);
    }
}
