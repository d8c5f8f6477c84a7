//! The arithmetic behind the summary: what differs, by how much, and how sure that is. Pure: numbers in, figures out.
//!
//! A table has one row for each taster and one column for each tea. A figure that can't be had is an error that says why in
//! words, never NaN.

pub mod additive;
pub mod agreement;
pub mod anova;
mod binomial;
pub mod can_show;
pub mod cannot;
pub mod covariate;
pub mod describe;
pub mod design;
pub mod dist;
mod eigen;
#[cfg(test)]
mod examples;
pub mod extraction;
pub mod forced_choice;
pub mod friedman;
pub mod icc;
pub mod incomplete;
pub mod interval;
#[cfg(test)]
mod laws;
pub mod letters;
mod linear;
mod lot;
pub mod missed;
pub mod multiple;
pub(crate) mod noncentral_t;
pub mod over_classes;
pub mod paired;
pub mod panel;
pub mod penalty;
pub mod power;
pub mod proportion;
pub mod rank_sums;
pub mod ranks;
pub mod replicated;
mod root;
pub mod say;
pub mod skillings_mack;
mod spread;
pub mod stratified;
pub(crate) mod studentized_range;
mod sums;
pub mod surface;
pub mod ticks;
pub mod trend;
pub mod tukey;
pub mod two_means;
pub mod two_way;
pub mod votes;
pub mod votes_surface;
pub mod wilcoxon;

pub use cannot::Cannot;
pub use interval::Interval;

#[cfg(test)]
mod tests {
    /// Every module that another may call has a row in `README.md`, and every row a module.
    #[test]
    fn the_readme_lists_every_procedure() {
        let modules = |within: &'static str, source: &'static str| {
            source.lines().filter_map(move |line| {
                let name = line.strip_prefix("pub mod ").or(line.strip_prefix("pub(crate) mod "))?;
                Some(format!("{within}{}", name.strip_suffix(';')?))
            })
        };
        let declared = modules("", include_str!("lib.rs"))
            .chain(modules("surface::", include_str!("surface.rs")))
            .chain(modules("design::", include_str!("design.rs")))
            .chain(modules("votes_surface::", include_str!("votes_surface.rs")));
        let row = |line: &'static str| {
            line.strip_prefix("| ")?.split(" | ").nth(2)?.strip_prefix('`')?.strip_suffix('`')
        };
        let mut listed: Vec<&str> = include_str!("../README.md").lines().filter_map(row).collect();
        let mut declared: Vec<String> = declared.collect();
        listed.sort_unstable();
        declared.sort_unstable();
        assert_eq!(listed, declared);
    }
}
