//! Reads one table of a class file key by key and notes every fault with its place.

use super::fault::Faults;
use std::fmt::Display;
use std::ops::{Range, RangeInclusive};
use toml::Spanned;
use toml::de::{DeTable, DeValue};

/// A value that has been read, with its place in the text for later checks.
pub(super) struct Placed<T> {
    /// The value.
    pub(super) value: T,
    /// Its place.
    pub(super) span: Range<usize>,
}

/// One table being read. Keys that nobody asks for are faults.
pub(super) struct Table<'a, 'i> {
    /// How faults name the table: empty for the top, `tea 2: ` for a tea.
    pub(super) name: String,
    span: Range<usize>,
    table: &'a DeTable<'i>,
    asked: Vec<&'static str>,
    /// The faults found so far, shared by all tables of the file.
    pub(super) faults: &'a mut Faults,
}

/// A whole number of TOML, whatever base it is written in.
pub(super) fn whole(value: &DeValue<'_>) -> Option<i64> {
    let integer = value.as_integer()?;
    i64::from_str_radix(&integer.as_str().replace('_', ""), integer.radix()).ok()
}

/// Any number of TOML.
pub(super) fn number(value: &DeValue<'_>) -> Option<f64> {
    match value {
        DeValue::Float(f) => f.as_str().replace('_', "").parse().ok(),
        other => whole(other).map(|n| n as f64),
    }
}

fn kind(value: &DeValue<'_>) -> String {
    match value {
        DeValue::String(s) => format!("a text (`{}`)", protocol::text::clean(s, 20)),
        DeValue::Integer(i) => format!("the number {}", i.as_str()),
        DeValue::Float(f) => format!("the number {}", f.as_str()),
        DeValue::Boolean(b) => format!("{b}"),
        DeValue::Datetime(d) => format!("the date {d}"),
        DeValue::Array(_) => "a list".into(),
        DeValue::Table(_) => "a table".into(),
    }
}

impl<'a, 'i> Table<'a, 'i> {
    /// Begins to read `table`.
    pub(super) fn new(
        name: String,
        table: &'a DeTable<'i>,
        span: Range<usize>,
        faults: &'a mut Faults,
    ) -> Self {
        Self { name, span, table, asked: Vec::new(), faults }
    }

    /// Where faults about something missing point to: the table's head.
    pub(super) fn head(&self) -> Range<usize> {
        self.span.clone()
    }

    /// Notes a fault of `key` at `span`.
    pub(super) fn fault(
        &mut self,
        span: Range<usize>,
        key: &str,
        problem: impl Into<String>,
        remedy: impl Into<String>,
    ) {
        let field = format!("{}{key}", self.name);
        self.faults.add(span, &field, problem, remedy);
    }

    /// The raw value of a key, if it is there.
    pub(super) fn raw(&mut self, key: &'static str) -> Option<&'a Spanned<DeValue<'i>>> {
        self.asked.push(key);
        self.table.get(key)
    }

    /// The raw value of a key that must be there; what it should be is said if it is not.
    pub(super) fn required(&mut self, key: &'static str, example: &str) -> Option<&'a Spanned<DeValue<'i>>> {
        let value = self.raw(key);
        if value.is_none() {
            self.fault(self.head(), key, "is missing", format!("add a line such as `{key} = {example}`"));
        }
        value
    }

    /// Notes that a value is of the wrong kind.
    pub(super) fn wrong_kind(
        &mut self,
        key: &str,
        value: &Spanned<DeValue<'_>>,
        wanted: &str,
        example: &str,
    ) {
        let problem = format!("is {}, but should be {wanted}", kind(value.get_ref()));
        self.fault(value.span(), key, problem, format!("write for example `{key} = {example}`"));
    }

    /// A name or title: plain text that is safe to show.
    pub(super) fn name(
        &mut self,
        key: &'static str,
        value: &Spanned<DeValue<'_>>,
        example: &str,
    ) -> Option<Placed<String>> {
        self.text(key, value, example, protocol::text::name)
    }

    /// A text that `check` finds safe to show, as `check` gives it back.
    pub(super) fn text(
        &mut self,
        key: &'static str,
        value: &Spanned<DeValue<'_>>,
        example: &str,
        check: impl Fn(&str) -> Result<String, String>,
    ) -> Option<Placed<String>> {
        let span = value.span();
        match value.get_ref().as_str().map(check) {
            None => self.wrong_kind(key, value, "a text in quotes", example),
            Some(Err(problem)) => self.fault(
                span,
                key,
                format!("can't be used: {problem}"),
                format!("write for example `{key} = {example}`"),
            ),
            Some(Ok(value)) => return Some(Placed { value, span }),
        }
        None
    }

    /// A whole number within `range` of `unit`.
    pub(super) fn whole_within(
        &mut self,
        key: &'static str,
        value: &Spanned<DeValue<'_>>,
        range: RangeInclusive<i64>,
        unit: &str,
    ) -> Option<Placed<i64>> {
        self.within(key, value, whole(value.get_ref()), range, "whole number", unit)
    }

    /// A number within `range` of `unit`.
    pub(super) fn number_within(
        &mut self,
        key: &'static str,
        value: &Spanned<DeValue<'_>>,
        range: RangeInclusive<f64>,
        unit: &str,
    ) -> Option<Placed<f64>> {
        self.within(key, value, number(value.get_ref()), range, "number", unit)
    }

    fn within<T: Display + PartialOrd + Copy>(
        &mut self,
        key: &'static str,
        value: &Spanned<DeValue<'_>>,
        read: Option<T>,
        range: RangeInclusive<T>,
        kind: &str,
        unit: &str,
    ) -> Option<Placed<T>> {
        let space = if unit.is_empty() { "" } else { " " };
        let wanted = format!("a {kind} from {} to {}{space}{unit}", range.start(), range.end());
        let span = value.span();
        match read {
            None => self.wrong_kind(key, value, &wanted, &range.start().to_string()),
            Some(n) if range.contains(&n) => return Some(Placed { value: n, span }),
            Some(n) => self.fault(span, key, format!("is {n}, which can't be"), format!("give {wanted}")),
        }
        None
    }

    /// Whole seconds (or another count), with a default when the key is absent.
    /// `None` means a fault has been noted.
    pub(super) fn count(
        &mut self,
        key: &'static str,
        range: RangeInclusive<i64>,
        unit: &str,
        default: Option<u32>,
    ) -> Option<u32> {
        let value = match default {
            // Eight is a sensible number of seats and of seconds alike.
            None => self.required(key, &8.max(*range.start()).to_string())?,
            Some(default) => match self.raw(key) {
                None => return Some(default),
                Some(value) => value,
            },
        };
        self.whole_within(key, value, range, unit).map(|n| n.value as u32)
    }

    /// The same where it is left out as it pleases. `None` means a fault has been noted.
    pub(super) fn optional_count(
        &mut self,
        key: &'static str,
        range: RangeInclusive<i64>,
        unit: &str,
    ) -> Option<Option<u32>> {
        match self.raw(key) {
            None => Some(None),
            Some(value) => self.whole_within(key, value, range, unit).map(|n| Some(n.value as u32)),
        }
    }

    /// Yes or no, with a default.
    pub(super) fn yes(&mut self, key: &'static str, default: bool) -> bool {
        let Some(value) = self.raw(key) else { return default };
        value.get_ref().as_bool().unwrap_or_else(|| {
            self.wrong_kind(key, value, "true or false", if default { "true" } else { "false" });
            default
        })
    }

    /// Ends the table: what nobody asked for is unknown.
    pub(super) fn finish(mut self) {
        let unknown: Vec<_> =
            self.table.keys().filter(|k| !self.asked.contains(&k.get_ref().as_ref())).collect();
        for key in unknown {
            let word = key.get_ref().as_ref();
            let near = self.asked.iter().copied().filter(|a| strsim::jaro_winkler(a, word) > 0.8);
            let near =
                near.max_by(|a, b| strsim::jaro_winkler(a, word).total_cmp(&strsim::jaro_winkler(b, word)));
            let remedy = match near {
                Some(near) => format!("did you mean `{near}`? Otherwise leave it out"),
                None => format!("leave it out; known here: {}", self.asked.join(", ")),
            };
            let shown = protocol::text::clean(word, 40);
            self.fault(key.span(), &shown, "is not a key of a class file", remedy);
        }
    }
}
