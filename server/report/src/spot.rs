//! The sweet spots of some leaves as a page with pictures; as text, see [`crate::text::spot`].

mod frame;
pub mod page;
mod profile;
mod slice;

#[cfg(test)]
mod tests;
