//! How long a round's tasting takes. Common practice, no source.

use protocol::Sheet;

/// In less than this a taster can't sip a cup and fill in its sheet, seconds.
pub const LEAST_A_CUP_S: u32 = 15;
/// What one line of the sheet takes for one cup, seconds.
const LINE_S: u32 = 5;

/// The tasting time for so many teas on this sheet where the class file gives none, seconds.
pub fn taste_s(teas: usize, sheet: &Sheet) -> u32 {
    let others =
        [sheet.strength, sheet.note, !sheet.words.is_empty()].into_iter().filter(|&line| line).count();
    let lines = (sheet.attributes.len() + others) as u32;
    teas as u32 * (lines * LINE_S).max(LEAST_A_CUP_S)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_longer_sheet_or_more_teas_take_longer_and_no_cup_less_than_its_least() {
        let sheet = Sheet::default();
        assert_eq!(sheet.attributes.len(), 4);
        // Four attributes, the strength and a note.
        assert_eq!((taste_s(1, &sheet), taste_s(5, &sheet)), (30, 150));
        let short =
            Sheet { attributes: sheet.attributes[..1].to_vec(), strength: false, note: false, ..sheet };
        assert_eq!(taste_s(4, &short), 60);
    }
}
