//! Reads one table of a file key by key and notes every fault with its place.

use super::broken::Broken;
use super::fault::Faults;
use super::heads::Heads;
use super::meant::{self, as_fahrenheit, as_litres};
use protocol::text::{NAME_CHARS, clean};
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

/// The file that tables are read from.
pub(super) struct Page<'s> {
    /// Its text.
    pub(super) source: &'s str,
    /// The keys in it whose values can't be read; their faults have been noted.
    pub(super) broken: &'s [Broken],
    /// What heads its sections.
    pub(super) heads: Heads,
}

/// Something that must be there and is not.
struct Missing {
    /// The keys of which one must be there; the first is named.
    keys: Vec<&'static str>,
    problem: &'static str,
    remedy: String,
}

/// One table being read. Keys that nobody asks for are faults.
pub(super) struct Table<'a, 'i> {
    /// How faults name the table: empty for the top, `tea 2: ` for a tea.
    pub(super) name: String,
    page: &'a Page<'a>,
    /// Its head; `None` for the top.
    head: Option<Range<usize>>,
    table: &'a DeTable<'i>,
    asked: Vec<&'static str>,
    /// What is missing.
    missing: Vec<Missing>,
    /// The keys of the top, for a table within it.
    outer: Vec<&'static str>,
    /// The faults found so far, shared by all tables of the file.
    faults: &'a mut Faults,
}

/// Where a key of the top has to stand: what comes behind a head belongs to its section.
const ABOVE: &str = "above the first line in brackets";

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
        DeValue::String(s) => format!("a text (`{}`)", clean(s, 20)),
        DeValue::Integer(i) => format!("the number {}", i.as_str()),
        DeValue::Float(f) => format!("the number {}", f.as_str()),
        DeValue::Boolean(b) => format!("{b}"),
        DeValue::Datetime(d) => format!("the date {d}"),
        DeValue::Array(_) => "a list".into(),
        DeValue::Table(_) => "a section".into(),
    }
}

/// `a whole number from 1 to 300 s`.
fn wanted<T: Display>(kind: &str, range: &RangeInclusive<T>, unit: &str) -> String {
    let space = if unit.is_empty() { "" } else { " " };
    format!("a {kind} from {} to {}{space}{unit}", range.start(), range.end())
}

impl<'a, 'i> Table<'a, 'i> {
    /// Begins to read the top of a file.
    pub(super) fn top(page: &'a Page<'a>, table: &'a DeTable<'i>, faults: &'a mut Faults) -> Self {
        let (asked, missing, outer) = (Vec::new(), Vec::new(), Vec::new());
        Self { name: String::new(), page, head: None, table, asked, missing, outer, faults }
    }

    /// Begins to read a table within this one, whose name goes before that of its keys.
    pub(super) fn inner<'b, 'j>(
        &'b mut self,
        name: &str,
        table: &'b DeTable<'j>,
        head: Range<usize>,
    ) -> Table<'b, 'j> {
        let name = format!("{}{name}: ", self.name);
        let outer = if self.head.is_none() { self.asked.clone() } else { self.outer.clone() };
        let (page, faults, asked, missing) = (self.page, &mut *self.faults, Vec::new(), Vec::new());
        Table { name, page, head: Some(head), table, asked, missing, outer, faults }
    }

    /// Where faults about something missing point to: the table's head.
    pub(super) fn head(&self) -> Option<Range<usize>> {
        self.head.clone()
    }

    /// Whether a key stands in the file with a value that can't be read.
    pub(super) fn is_broken(&self, key: &str) -> bool {
        let head = self.head.as_ref().map(|head| head.start);
        self.page.broken.iter().any(|broken| broken.head == head && broken.key == key)
    }

    /// Notes a fault of `key`.
    pub(super) fn fault(
        &mut self,
        place: impl Into<Option<Range<usize>>>,
        key: &str,
        problem: impl Into<String>,
        remedy: impl Into<String>,
    ) {
        let field = format!("{}{key}", self.name);
        self.faults.add(place, &field, problem, remedy);
    }

    /// The raw value of a key, if it is there.
    pub(super) fn raw(&mut self, key: &'static str) -> Option<&'a Spanned<DeValue<'i>>> {
        if !self.asked.contains(&key) {
            self.asked.push(key);
        }
        self.table.get(key)
    }

    /// The raw value of a key that must be there; what it should be is said if it is not.
    pub(super) fn required(&mut self, key: &'static str, example: &str) -> Option<&'a Spanned<DeValue<'i>>> {
        let value = self.raw(key);
        if value.is_none() {
            let place =
                if self.head.is_none() && self.has_sections() { format!(" {ABOVE}") } else { String::new() };
            self.misses(&[key], "is missing", format!("add a line such as `{key} = {example}`{place}"));
        }
        value
    }

    /// Notes that none of some keys is there, of which one must be.
    pub(super) fn misses(&mut self, keys: &[&'static str], problem: &'static str, remedy: impl Into<String>) {
        self.missing.push(Missing { keys: keys.to_vec(), problem, remedy: remedy.into() });
    }

    /// Notes that a value is of the wrong kind, and what it was meant to be if that can be told.
    pub(super) fn wrong_kind(
        &mut self,
        key: &str,
        value: &Spanned<DeValue<'_>>,
        wanted: &str,
        example: &str,
    ) {
        let problem = format!("is {}, but should be {wanted}", kind(value.get_ref()));
        let meant = self.page.source.get(value.span()).and_then(|said| meant::remedy(key, said));
        let remedy = meant.unwrap_or_else(|| format!("write for example `{key} = {example}`"));
        self.fault(value.span(), key, problem, remedy);
    }

    /// Notes what a whole list was meant to be, if that can be told; whether it can.
    pub(super) fn meant_list(&mut self, key: &str, value: &Spanned<DeValue<'_>>, wanted: &str) -> bool {
        let meant = self.page.source.get(value.span()).and_then(|said| meant::remedy(key, said));
        if let Some(remedy) = &meant {
            self.fault(value.span(), key, format!("holds what is no {wanted}"), remedy);
        }
        meant.is_some()
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
        let wanted = wanted("whole number", &range, unit);
        let remedy = format!("give {wanted}");
        self.within(key, value, whole(value.get_ref()), range, &wanted, remedy)
    }

    /// A number within `range` of `unit`.
    pub(super) fn number_within(
        &mut self,
        key: &'static str,
        value: &Spanned<DeValue<'_>>,
        range: RangeInclusive<f64>,
        unit: &str,
    ) -> Option<Placed<f64>> {
        let read = number(value.get_ref());
        let wanted = wanted("number", &range, unit);
        let other_unit = read.and_then(|n| match unit {
            "ml" => as_litres(n, *range.start(), *range.end()),
            _ if unit.starts_with("°C") => as_fahrenheit(n, *range.end()),
            _ => None,
        });
        let remedy = other_unit.map_or(String::new(), |said| said + "; ") + &format!("give {wanted}");
        self.within(key, value, read, range, &wanted, remedy)
    }

    fn within<T: Display + PartialOrd + Copy>(
        &mut self,
        key: &'static str,
        value: &Spanned<DeValue<'_>>,
        read: Option<T>,
        range: RangeInclusive<T>,
        wanted: &str,
        remedy: String,
    ) -> Option<Placed<T>> {
        let span = value.span();
        match read {
            None => self.wrong_kind(key, value, wanted, &range.start().to_string()),
            Some(n) if range.contains(&n) => return Some(Placed { value: n, span }),
            Some(n) => self.fault(span, key, format!("is {n}, which can't be"), remedy),
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

    /// Ends the table: what nobody asked for is unknown, and what must be there and is not is missing, unless something
    /// unknown was meant to be it or it could not be read.
    pub(super) fn finish(mut self) {
        let mut excused: Vec<&str> = self.asked.iter().copied().filter(|key| self.is_broken(key)).collect();
        let unknown: Vec<_> =
            self.table.keys().filter(|k| !self.asked.contains(&k.get_ref().as_ref())).collect();
        for key in unknown {
            let word = key.get_ref().as_ref();
            let outer = self.outer.contains(&word);
            let near = self.near(word).filter(|_| !outer);
            excused.extend(near);
            let remedy = match near {
                None if outer => format!("it belongs to {}: move the line, {ABOVE}", self.page.heads.whole),
                Some(near) => format!("did you mean `{near}`? Otherwise leave it out"),
                None => format!("leave it out, or write one of: {}", self.asked.join(", ")),
            };
            let shown = clean(word, NAME_CHARS);
            self.fault(key.span(), &shown, "is not known here", remedy);
        }
        for missing in std::mem::take(&mut self.missing) {
            if let [key, ..] = missing.keys[..]
                && !missing.keys.iter().any(|key| excused.contains(key))
                && !self.stands_too_low(key)
            {
                self.fault(self.head(), key, missing.problem, missing.remedy);
            }
        }
    }

    fn has_sections(&self) -> bool {
        self.page.source.lines().any(|line| line.trim_start().starts_with('['))
    }

    /// Whether a key of the top that is missing there stands in a section, most likely at the end of the file; notes a
    /// fault unless the section does not know it, which has been noted.
    fn stands_too_low(&mut self, key: &'static str) -> bool {
        if self.head.is_some() {
            return false;
        }
        let sections = self.table.iter().flat_map(|(word, value)| match value.get_ref() {
            DeValue::Array(list) => list.iter().map(|one| (word.get_ref().as_ref(), one)).collect(),
            _ => vec![(word.get_ref().as_ref(), value)],
        });
        let found = sections.filter_map(|(word, section)| {
            let (found, value) = section.get_ref().as_table()?.get_key_value(key)?;
            Some((word, found.span(), value.span()))
        });
        let Some((word, place, value)) = found.max_by_key(|(_, place, _)| place.start) else { return false };
        if self.faults.0.iter().all(|fault| fault.place.as_ref() != Some(&place)) {
            let said = clean(self.page.source.get(value).unwrap_or_default(), NAME_CHARS);
            let problem = format!("is missing: here it counts for this {word} alone");
            self.fault(place, key, problem, format!("put `{key} = {said}` {ABOVE}"));
        }
        true
    }

    /// The key that a word was meant to be, most likely one that is missing.
    fn near(&self, word: &str) -> Option<&'static str> {
        let missing = |key: &&str| self.missing.iter().any(|missing| missing.keys.contains(key));
        let alike = |key: &str| strsim::jaro_winkler(key, word);
        let near = self.asked.iter().copied().filter(|key| alike(key) > 0.8);
        near.max_by(|a, b| missing(a).cmp(&missing(b)).then(alike(a).total_cmp(&alike(b))))
    }
}
