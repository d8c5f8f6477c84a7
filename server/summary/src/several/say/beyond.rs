//! Which sheets are left out, in one sentence.

use crate::several::Pool;
use crate::several::beyond::NotPooled;
use protocol::say::{list, many};

/// So many steeps are named.
const NAMED: usize = 3;

/// How many sheets are left out, of what and why; `None` where none are.
pub fn sentence(pool: &Pool) -> Option<String> {
    let all: Vec<(usize, &NotPooled)> = pool
        .classes
        .iter()
        .flat_map(|line| line.not_pooled.iter().map(|steep| (line.class, steep)))
        .collect();
    let sheets: usize = all.iter().map(|(_, steep)| steep.sheets).sum();
    let one = |(class, steep): &(usize, &NotPooled)| {
        let how = if steep.again { "again" } else { "once more" };
        format!("{} steep {} {how} in class {class}", steep.code, steep.steep)
    };
    let named = if all.len() > NAMED { NAMED - 1 } else { all.len() };
    let more = all.len() - named;
    let more = (more > 0).then(|| many(more, "more steep"));
    let steeps: Vec<String> = all[..named].iter().map(one).chain(more).collect();
    (sheets > 0).then(|| {
        let are = if sheets == 1 { "is" } else { "are" };
        format!(
            "Left out {are} {} ({}): other classes have none to go with them.",
            many(sheets, "sheet"),
            list(&steeps)
        )
    })
}
