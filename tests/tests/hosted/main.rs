//! Classes held by real hosts: in this process, over sockets, and as programs.

#![expect(clippy::unwrap_used, reason = "a failing unwrap is a failing test")]

mod adapted;
mod away;
mod back;
mod class;
mod code;
mod door;
#[cfg(unix)]
mod evening;
mod exercise;
mod front;
mod last_call;
mod lead;
mod ledger;
mod lobby;
mod nasty;
mod overheard;
mod pretender;
mod refusals;
mod reopened;
mod said;
#[cfg(unix)]
mod screen;
mod steered;
mod table;
#[cfg(unix)]
#[path = "../../../client/tests/it/terminal.rs"]
mod terminal;
mod trials;
#[cfg(unix)]
mod unread;
mod voided;
