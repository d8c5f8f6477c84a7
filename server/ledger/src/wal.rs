//! What stands in a ledger's `-wal`: how much of it SQLite will take, and what lies behind that.
//!
//! SQLite takes frames up to the last commit whose sums are right and says nothing of the rest. The format is that of
//! "Database File Format", section 4, "The Write-Ahead Log" (sqlite.org/fileformat2.html).

/// Bytes of the head of the file.
pub const HEAD: usize = 32;
/// Bytes of the head of a frame.
pub const FRAME_HEAD: usize = 24;
/// The first word of the file, but for its lowest bit, which says in which order bytes are summed.
const MAGIC: u32 = 0x377f_0682;

/// What lies behind the last commit that SQLite takes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Rest {
    /// Nothing, or what is left of an earlier round of the file.
    Nothing,
    /// One write that did not come to its end, as a crash leaves it.
    Torn,
    /// Whole writes that SQLite will not take, because something before them was changed.
    Damaged,
}

fn word(bytes: &[u8], at: usize) -> Option<u32> {
    Some(u32::from_be_bytes(bytes.get(at..at + 4)?.try_into().ok()?))
}

/// The running sum of the format over bytes whose length is a multiple of eight.
fn sum(bytes: &[u8], big_endian: bool, mut sums: (u32, u32)) -> (u32, u32) {
    let read = |four: &[u8]| {
        let four = [four[0], four[1], four[2], four[3]];
        if big_endian { u32::from_be_bytes(four) } else { u32::from_le_bytes(four) }
    };
    for eight in bytes.chunks_exact(8) {
        sums.0 = sums.0.wrapping_add(read(&eight[..4])).wrapping_add(sums.1);
        sums.1 = sums.1.wrapping_add(read(&eight[4..])).wrapping_add(sums.0);
    }
    sums
}

/// The page size that the head of a `-wal` names, if it can be one.
pub fn page_bytes(bytes: &[u8]) -> Option<usize> {
    word(bytes, 8)
        .map(|size| size as usize)
        .filter(|size| (512..=65536).contains(size) && size.is_power_of_two())
}

/// Whether a head is the next one of the same file: once all was folded into the ledger SQLite counts the rounds and the first
/// salt up by one and writes from the beginning.
pub fn is_next(before: &[u8], now: &[u8]) -> bool {
    let counted = |at| word(before, at).map(|count| count.wrapping_add(1)) == word(now, at);
    is_head(now) && before.get(..12) == now.get(..12) && counted(12) && counted(16)
}

/// The pages of all frames with their numbers, in order, whatever their sums: also those that SQLite does not take.
pub fn frames(bytes: &[u8], page_bytes: usize) -> impl Iterator<Item = (u32, &[u8])> {
    let frames = bytes.get(HEAD..).unwrap_or_default().chunks_exact(FRAME_HEAD + page_bytes);
    frames.filter_map(|frame| Some((word(frame, 0)?, &frame[FRAME_HEAD..])))
}

/// What the head of a `-wal` says: whether it is whole, how long pages are, the order of bytes, the salts, and its sums.
type Said = (bool, usize, bool, (u32, u32), (u32, u32));

fn head(bytes: &[u8]) -> Option<Said> {
    let magic = word(bytes, 0)?;
    let (page_bytes, salts) = (word(bytes, 8)?, (word(bytes, 16)?, word(bytes, 20)?));
    let big_endian = magic & 1 == 1;
    let sums = sum(&bytes[..24], big_endian, (0, 0));
    let is_whole = magic & !1 == MAGIC && (word(bytes, 24)?, word(bytes, 28)?) == sums;
    Some((is_whole, page_bytes as usize, big_endian, salts, sums))
}

/// Whether SQLite takes anything that follows this head.
pub fn is_head(bytes: &[u8]) -> bool {
    head(bytes).is_some_and(|(is_whole, ..)| is_whole)
}

/// Looks at the bytes of a `-wal`; an empty one has nothing.
pub fn rest(bytes: &[u8]) -> Rest {
    if bytes.is_empty() {
        return Rest::Nothing;
    }
    // Of a head that is cut off there were never any frames.
    let Some((head_is_whole, page_bytes, big_endian, salts, mut sums)) = head(bytes) else {
        return Rest::Torn;
    };
    if self::page_bytes(bytes).is_none() {
        return Rest::Damaged;
    }
    let (mut taking, mut commits_behind, mut broken) = (head_is_whole, 0, !head_is_whole);
    for frame in bytes[HEAD..].chunks(FRAME_HEAD + page_bytes) {
        if frame.len() < FRAME_HEAD + page_bytes {
            // Only the file's last frame can be cut off, and an earlier round's would not be looked at any more.
            broken |= taking;
            break;
        }
        let word = |at| word(frame, at).unwrap_or(0);
        let own = (word(8), word(12));
        if own != salts {
            // What an earlier round left has two other salts; one changed byte leaves one of them as it was.
            broken |= taking && (own.0 == salts.0 || own.1 == salts.1);
            taking = false;
            continue;
        }
        let next = sum(&frame[..8], big_endian, sums);
        let next = sum(&frame[FRAME_HEAD..], big_endian, next);
        if !taking || next != (word(16), word(20)) {
            taking = false;
            commits_behind += usize::from(word(4) != 0);
            broken = true;
        }
        sums = next;
    }
    match (broken, commits_behind) {
        (false, _) => Rest::Nothing,
        _ if !head_is_whole => Rest::Damaged,
        (true, 0 | 1) => Rest::Torn,
        (true, _) => Rest::Damaged,
    }
}
