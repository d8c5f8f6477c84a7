//! What a host has seen of its `-wal`: the head of the file, and of the frame that it wrote last.
//!
//! A commit writes to the file, so that nobody can tell by its time and length whether somebody else wrote to it at the same
//! moment. But SQLite leaves the head as it is until it begins the file anew, and what it has written once until then. A file
//! that was emptied or overwritten has another head, or none.

use crate::wal::{FRAME_HEAD, HEAD, Rest, is_head, is_next, page_bytes, rest};
use std::fs::File;
use std::io::{Read, Seek, SeekFrom};
use std::path::Path;

type FrameHead = [u8; FRAME_HEAD];

/// A `-wal`, open all the while, and what was seen of it.
#[derive(Debug)]
pub struct Frames {
    /// SQLite holds no locks on this file that closing it could let go of.
    file: Option<File>,
    head: Option<[u8; HEAD]>,
    last: Option<(u64, FrameHead)>,
}

impl Frames {
    pub fn of(wal: &Path) -> Self {
        let mut frames = Self { file: File::open(wal).ok(), head: None, last: None };
        frames.head = frames.at(0);
        frames
    }

    fn at<const N: usize>(&self, place: u64) -> Option<[u8; N]> {
        let mut bytes = [0; N];
        let mut file = self.file.as_ref()?;
        file.seek(SeekFrom::Start(place)).ok()?;
        file.read_exact(&mut bytes).ok().map(|()| bytes)
    }

    /// Whether nothing has been written yet, or what was seen is there still.
    pub fn stand(&self) -> bool {
        let head = self.at(0);
        let is_first = self.head.is_none() && head.is_some_and(|head| is_head(&head));
        let stands = |&(place, last): &(u64, FrameHead)| self.at(place) == Some(last);
        (is_first || head == self.head) && self.last.as_ref().is_none_or(stands)
    }

    /// Whether SQLite has begun the file anew since.
    pub fn began_anew(&self) -> bool {
        self.head.zip(self.at::<HEAD>(0)).is_some_and(|(before, now)| is_next(&before, &now))
    }

    /// Whether SQLite will take all of it in after a crash. As long as it is open, SQLite itself does not look at the sums.
    /// A file that is empty has nothing that could be lost: whoever folded all of it into the ledger may have cut it.
    pub fn can_be_read(&self) -> bool {
        let is_whole = |bytes: Vec<u8>| bytes.is_empty() || is_head(&bytes) && rest(&bytes) == Rest::Nothing;
        self.whole().is_some_and(is_whole)
    }

    fn whole(&self) -> Option<Vec<u8>> {
        let (mut file, mut bytes) = (self.file.as_ref()?, Vec::new());
        file.seek(SeekFrom::Start(0)).ok()?;
        file.read_to_end(&mut bytes).ok().map(|_| bytes)
    }

    /// Takes it as it is now; its last frame lies at its end if a commit has made it longer.
    pub fn take(&mut self, before: u64, bytes: u64) {
        self.head = self.at(0);
        if bytes > before {
            let frame = self.head.and_then(|head| page_bytes(&head)).map(|page| (page + FRAME_HEAD) as u64);
            let place = frame.and_then(|frame| bytes.checked_sub(frame));
            self.last = place.and_then(|place| Some((place, self.at(place)?)));
        }
        if self.last.is_some_and(|(place, last)| self.at(place) != Some(last)) {
            self.last = None;
        }
    }
}
