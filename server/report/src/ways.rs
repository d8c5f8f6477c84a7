//! People's ways side by side: as text, and as a page with a picture.

pub mod page;
mod picture;
pub mod text;
mod words;

#[cfg(test)]
mod tests;
