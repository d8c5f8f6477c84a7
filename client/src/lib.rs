//! The library.
