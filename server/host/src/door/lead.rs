//! A connection over which a console elsewhere leads the class, or looks on.

use super::key_holders::KeyHolder;
use super::rate::{Bucket, Rate};
use super::socket::{End, Socket, hear, refuse, send};
use super::{Door, ask_at_last};
use crate::ask::Ask;
use crate::consoles::Shown;
use protocol::Challenge;
use protocol::wire::{HostMessage, Lead, RefusalCode, SILENCE_LIMIT, SeatMessage, TYPED_BYTES};
use std::net::IpAddr;
use tokio::io::{AsyncRead, AsyncWrite};
use tokio::sync::mpsc;
use tokio::time::sleep;

/// How fast lines may come: more than anybody types, and enough to paste some.
const TYPING: Rate = Rate { at_once: 20, every_us: 200_000 };

/// A console's presence. Going is its end, so that no way out of the connection can miss it.
struct Present {
    asks: mpsc::Sender<Ask>,
    console: KeyHolder,
}

impl Drop for Present {
    fn drop(&mut self) {
        ask_at_last(&self.asks, Ask::Console { console: self.console.clone(), is_here: false });
    }
}

/// Carries lines to and fro until one side ends it.
pub(super) async fn serve<S: AsyncRead + AsyncWrite + Unpin>(
    socket: &mut Socket<S>,
    lead: &Lead,
    over: Challenge,
    from: Option<IpAddr>,
    door: &Door,
) -> End {
    match carry(socket, lead, over, from, door).await {
        Ok(()) => End::Quiet,
        Err(end) => end,
    }
}

async fn carry<S: AsyncRead + AsyncWrite + Unpin>(
    socket: &mut Socket<S>,
    lead: &Lead,
    over: Challenge,
    from: Option<IpAddr>,
    door: &Door,
) -> Result<(), End> {
    let Door { clock, terms, .. } = door;
    let mut link = match terms.consoles.enter(lead, over) {
        Ok(link) => link,
        Err((code, words)) => {
            if code == RefusalCode::KeyWrong {
                door.ask(Ask::WrongKey { from }).await?;
            }
            return refuse(code, words);
        }
    };
    let console = KeyHolder { name: link.name().into(), acts: link.acts, from };
    door.ask(Ask::Console { console: console.clone(), is_here: true }).await?;
    let _present = Present { asks: door.asks.clone(), console };
    let led = HostMessage::Led { name: link.name().into(), acts: link.acts };
    send(socket, led.to_json().into()).await?;
    let (mut typing, mut is_told) = (Bucket::default(), false);
    let silence = sleep(SILENCE_LIMIT);
    tokio::pin!(silence);
    loop {
        let heard = tokio::select! {
            biased;
            // Its sender lives as long as the door does.
            _ = link.keys.changed() => {
                return refuse(RefusalCode::KeyWrong, "the teacher has drawn new keys; ask for the new file");
            }
            shown = link.shown.recv() => match shown {
                Some(Shown::Text(text)) => {
                    send(socket, HostMessage::Line { text }.to_json().into()).await?;
                    continue;
                }
                Some(Shown::Over) => {
                    return refuse(RefusalCode::ClassClosed, "the class is closed, and the host has ended");
                }
                None => {
                    let words = "the host is going down; the class can be continued";
                    return refuse(RefusalCode::HostStopping, words);
                }
            },
            heard = hear(socket) => heard?,
            () = &mut silence => {
                let words = format!("nothing heard for {} s", SILENCE_LIMIT.as_secs());
                return refuse(RefusalCode::Silent, words);
            }
        };
        silence.as_mut().reset(sleep(SILENCE_LIMIT).deadline());
        let t2_us = clock.now().0;
        let left_out = match heard {
            SeatMessage::Ping { t1_us } => {
                let pong = HostMessage::Pong { t1_us, t2_us, t3_us: clock.now().0 };
                send(socket, pong.to_json().into()).await?;
                continue;
            }
            SeatMessage::Typed { line } if line.len() > TYPED_BYTES => {
                Some(format!("left out: a line may have {TYPED_BYTES} bytes"))
            }
            // One console is one connection.
            SeatMessage::Typed { .. } if !typing.is_within(TYPING, clock.room_us()) => {
                let words = "left out: lines come faster than anybody types; this one and those right behind it were not read";
                (!std::mem::replace(&mut is_told, true)).then(|| words.into())
            }
            SeatMessage::Typed { line } => {
                is_told = false;
                // Whoever reads has fallen far behind, or has gone.
                link.typed.try_send(line).err().map(|_| "left out: the host is busy; type it again".into())
            }
            _ => return refuse(RefusalCode::UnknownMessage, "a console types lines, and says nothing else"),
        };
        if let Some(text) = left_out {
            send(socket, HostMessage::Line { text }.to_json().into()).await?;
        }
    }
}
