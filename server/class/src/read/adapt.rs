//! Reads whether the votes may change a tea's later steeps.

use super::table::{Placed, Table};
use crate::adapt::Adapt;
use protocol::text::name_key;

/// Reads `adapt`. `None` means that a fault has been noted, `Some(None)` that it is left out.
pub(super) fn read(table: &mut Table<'_, '_>) -> Option<Option<Placed<Adapt>>> {
    let Some(value) = table.raw("adapt") else { return Some(None) };
    let (wanted, span) = ("\"suggest\", \"follow\" or \"off\"", value.span());
    let Some(word) = value.get_ref().as_str() else {
        table.wrong_kind("adapt", value, wanted, "\"suggest\"");
        return None;
    };
    let Some(value) = Adapt::ALL.into_iter().find(|adapt| adapt.name() == word) else {
        table.fault(span, "adapt", "says what is not known", format!("write {wanted}"));
        return None;
    };
    Some(Some(Placed { value, span }))
}

/// What has to be known of a tea to tell whether it is compared with another way of its leaf.
pub(super) struct OfLeaf {
    /// Its place in the file, from 1.
    pub(super) number: usize,
    /// Its name.
    pub(super) name: String,
    /// Its leaf.
    pub(super) leaf: String,
    /// What it asks for.
    pub(super) asked: Option<Placed<Adapt>>,
}

/// Notes a fault for every tea that asks for it though another tea is of the same leaf.
pub(super) fn not_of_ways(top: &mut Table<'_, '_>, teas: &[OfLeaf]) {
    for tea in teas {
        let Some(asked) = tea.asked.as_ref().filter(|asked| asked.value != Adapt::Off) else { continue };
        let same =
            |other: &&OfLeaf| other.number != tea.number && name_key(&other.leaf) == name_key(&tea.leaf);
        if let Some(other) = teas.iter().find(same) {
            let field = format!("tea {} ({}): adapt", tea.number, tea.name);
            let problem = format!(
                "can't be: {} is the same leaf, and ways of one leaf are compared as written",
                other.name
            );
            top.fault(asked.span.clone(), &field, problem, "leave the line out, or write \"off\"");
        }
    }
}
