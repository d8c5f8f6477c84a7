//! Totals, two ways of one leaf, the strength vote, words, agreement: the figures behind their sentences.

use crate::text::attributes::{bare_p, between};
use crate::text::charts::{Scale, letter, votes};
use crate::text::table::Column;
use crate::text::{Page, figure};
use protocol::Code;
use stats::interval::SIGNIFICANCE;
use stats::penalty::Hint;
use stats::say::{fine, signed};
use summary::find::agreement::IccFinding;
use summary::find::difference_tests::TestFound;
use summary::find::strength::{PenaltyFinding, PenaltySide};
use summary::find::ways::Comparison;
use summary::known::Known;

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
        if let Some(tukey) = totals.difference.tukey.get() {
            self.pairs(tukey);
        }
    }

    pub(super) fn ways(&mut self) {
        for ways in &self.summary.findings.figures.ways {
            self.out.head(&format!("ONE LEAF, TWO WAYS  {}", ways.leaf));
            self.out.text("  ", &format!("{}: {}", ways.first, ways.first_way));
            self.out.text("  ", &format!("{}: {}", ways.second, ways.second_way));
            let of = |cell: &dyn Fn(&Comparison) -> String| -> Vec<String> {
                ways.comparisons.iter().map(cell).collect()
            };
            let name = |c: &Comparison| match c.steep {
                Some(steep) => format!("{}/{steep}", c.attribute),
                None => format!("{} all", c.attribute),
            };
            let columns = [
                Column::words(&format!("{} − {}", ways.first, ways.second), of(&name)),
                Column::numbers("n", of(&|c| c.n.to_string())),
                Column::numbers("mean", of(&|c| figure(c.mean_difference))),
                Column::numbers("95 % interval", of(&|c| between(c.paired.get().map(|p| p.interval)))),
                Column::numbers("p ranks", of(&|c| bare_p(c.wilcoxon.get().map(|w| w.p)))),
                Column::numbers("p Holm", of(&|c| bare_p(c.p_holm))),
                Column::numbers("least p", of(&|c| bare_p(c.wilcoxon.get().map(|w| w.smallest_p)))),
                Column::numbers("p t", of(&|c| bare_p(c.paired.get().map(|p| p.p)))),
                Column::numbers("d_z", of(&|c| figure(c.paired.get().map(|p| p.d_z)))),
            ];
            self.out.table(2, &columns);
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
            &format!("« much too thin  ‹ too thin  = just right  › too strong  » much too strong{scale}; next time with a ?: a hint"),
        );
        let of = |cell: &dyn Fn(usize) -> String| -> Vec<String> { (0..cups.len()).map(cell).collect() };
        let name = |i: usize| format!("{}/{}", strength.cups[i].tea, strength.cups[i].steep);
        let next = |i: usize| match strength.cups[i].hint.get() {
            Some(found) if found.hint == Hint::TooFewToTell => "can't tell".into(),
            // By this cup alone, and not with all of them looked at.
            Some(found) if found.p_holm > SIGNIFICANCE => format!("{}?", found.hint),
            Some(found) => found.hint.to_string(),
            None => "–".into(),
        };
        let p_of = |i: usize| Some(strength.cups[i].hint.get()?.p());
        let columns = [
            Column::words("cup", of(&name)),
            Column::words("votes", lines),
            Column::numbers("thin", of(&|i| (cups[i][0] + cups[i][1]).to_string())),
            Column::numbers("right", of(&|i| cups[i][2].to_string())),
            Column::numbers("strong", of(&|i| (cups[i][3] + cups[i][4]).to_string())),
            Column::numbers("p", of(&|i| bare_p(p_of(i)))),
            Column::words("next time", of(&next)),
        ];
        self.out.table(2, &columns);
        self.penalties();
    }

    /// What a wrong strength costs in liking, tea by tea.
    fn penalties(&mut self) {
        let Some(strength) = self.summary.findings.figures.strength.as_ref().filter(|s| s.liking.is_some())
        else {
            return;
        };
        let known: Vec<(Option<Code>, &PenaltyFinding)> =
            strength.over_steeps.iter().filter_map(|l| Some((l.tea, l.penalty.get()?))).collect();
        if known.is_empty() {
            return;
        }
        let of = |cell: &dyn Fn(&PenaltyFinding) -> String| -> Vec<String> {
            known.iter().map(|(_, found)| cell(found)).collect()
        };
        let side = |side: &Option<PenaltySide>| {
            side.as_ref().map_or("–".into(), |s| format!("{} (n {})", fine(s.drop), s.n))
        };
        let columns = [
            Column::words(
                "liking lost",
                known.iter().map(|(tea, _)| tea.map_or("all".into(), |t| t.to_string())),
            ),
            Column::numbers(
                "just right",
                of(&|f| format!("{} (n {})", fine(f.just_right_mean), f.just_right)),
            ),
            Column::numbers("too thin: less by", of(&|f| side(&f.too_thin))),
            Column::numbers("too strong: less by", of(&|f| side(&f.too_strong))),
        ];
        self.out.line("");
        self.out.table(2, &columns);
    }

    pub(super) fn words(&mut self) {
        let words = &self.summary.findings.figures.words;
        let Some(first) = words.first() else { return };
        self.out.head("WORDS");
        let mut columns = vec![
            Column::words("ticked by", words.iter().map(|word| word.word.clone())),
            Column::numbers("p Holm", words.iter().map(|word| bare_p(word.cochran.get().map(|q| q.p_holm)))),
        ];
        for place in 0..first.teas.len() {
            let cells = words.iter().map(|word| format!("{} of {}", word.teas[place].n, word.teas[place].of));
            columns.push(Column::numbers(&first.teas[place].tea.to_string(), cells));
        }
        self.out.table(2, &columns);
    }

    pub(super) fn difference_tests(&mut self) {
        let tests = &self.summary.findings.figures.tests;
        if tests.is_empty() {
            return;
        }
        self.out.head("DIFFERENCE TESTS");
        let share = |test: &TestFound| {
            let found = test.outcome.get()?.discriminators?;
            Some(format!(
                "{:.0} % ({:.0} to {:.0})",
                found.share * 100.0,
                found.exact.low * 100.0,
                found.exact.high * 100.0
            ))
        };
        let of = |cell: &dyn Fn(&TestFound) -> String| -> Vec<String> { tests.iter().map(cell).collect() };
        let codes = |test: &TestFound| {
            let [a, b] =
                test.teas.each_ref().map(|tea| tea.code.map_or("–".into(), |code| code.to_string()));
            format!("{a} {b} /{}", test.steep)
        };
        let columns = [
            Column::numbers("no.", of(&|t| t.number.to_string())),
            Column::words("kind", of(&|t| t.kind.to_string())),
            Column::words("teas/steep", of(&codes)),
            Column::numbers("right", of(&|t| format!("{} of {}", t.correct, t.n))),
            Column::numbers("p", of(&|t| bare_p(t.outcome.get().map(|o| o.p)))),
            Column::numbers("truly tell (95 %)", of(&|t| share(t).unwrap_or("–".into()))),
            Column::numbers("power", of(&|t| figure(t.power.get().map(|p| p.power)))),
        ];
        self.out.table(2, &columns);
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
        let columns = [
            Column::words("attribute", all.iter().map(|a| a.attribute.clone())),
            Column::numbers("tasters", all.iter().map(|a| a.tasters.to_string())),
            Column::numbers("W", all.iter().map(|a| figure(a.kendall.get().map(|k| k.w)))),
            Column::numbers("ICC(2,1)", all.iter().map(|a| icc(&a.icc_2_1))),
            Column::numbers("ICC(3,1)", all.iter().map(|a| icc(&a.icc_3_1))),
            Column::numbers("ICC(3,k)", all.iter().map(|a| icc(&a.icc_3_k))),
        ];
        self.out.table(2, &columns);
    }
}
