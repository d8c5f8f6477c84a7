//! Ink, dashes and signs. No tea is told by its colour alone: the line's dashes, its sign and the code at its end say it
//! as well, on paper without colours too.

use std::fmt;

/// A colour of the page, or of a tea.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ink {
    /// Text and axes.
    Black,
    /// What stands behind: single scores, labels.
    Grey,
    /// Lines to go along with the eye.
    Faint,
    /// The ground.
    Paper,
    /// The tea at this place.
    Tea(usize),
    /// Water: the share of the way from the coolest to the hottest, hundredths; see [`Ink::heat`].
    Heat(u8),
    /// A vote: much too thin, too thin, just right, too strong, much too strong.
    Vote(usize),
}

/// Dark enough to be told from the paper and from each other by those who see no red, no green or no blue: they differ in
/// lightness as well.
const TEAS: [u32; 6] = [0x1f1b16, 0xb5470d, 0x175a93, 0x6d8424, 0x862f6e, 0x9a723a];
const VOTES: [u32; 5] = [0x124a7c, 0x5f90be, 0xe6e0d2, 0xc97b45, 0x8c3308];

/// Light for cool water, dark for hot: one ink, more or less of it.
const HEAT: [u32; 2] = [0xf3e3c8, 0x6e2408];
/// Water that is drawn lightest and darkest, °C.
const HEAT_C: [f64; 2] = [60.0, 100.0];

impl Ink {
    /// The shade of water of so many °C.
    pub fn heat(temp_c: f64) -> Self {
        let share = ((temp_c - HEAT_C[0]) / (HEAT_C[1] - HEAT_C[0])).clamp(0.0, 1.0);
        Ink::Heat((share * 100.0).round() as u8)
    }

    /// Red, green and blue, a byte each.
    fn colour(self) -> u32 {
        match self {
            Ink::Black => 0x1f1b16,
            Ink::Grey => 0x6b645a,
            Ink::Faint => 0xd8d1c3,
            Ink::Paper => 0xfffdf8,
            Ink::Tea(place) => TEAS[place % TEAS.len()],
            Ink::Heat(hundredths) => {
                let share = f64::from(hundredths.min(100)) / 100.0;
                let mixed = |byte: u32| {
                    let [cool, hot] = HEAT.map(|ink| f64::from(ink >> (8 * byte) & 0xff));
                    ((cool + share * (hot - cool)).round() as u32) << (8 * byte)
                };
                (0..3).map(mixed).sum()
            }
            Ink::Vote(vote) => VOTES[vote.min(VOTES.len() - 1)],
        }
    }
}

impl fmt::Display for Ink {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "#{:06X}", self.colour())
    }
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Dash(usize);

impl Dash {
    pub fn of(place: usize) -> Self {
        Self(place % 6)
    }

    /// How far it is drawn and how far not, in units; nothing if it is unbroken.
    pub fn lengths(self) -> Option<(f64, f64)> {
        [None, Some((8.0, 4.0)), Some((2.5, 3.0)), Some((14.0, 4.0)), Some((5.0, 7.0)), Some((1.5, 6.0))]
            [self.0]
    }
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Mark {
    Disc,
    Square,
    Triangle,
    /// A square on its tip.
    Diamond,
    Ring,
    Cross,
}

impl Mark {
    pub fn of(place: usize) -> Self {
        [Mark::Disc, Mark::Square, Mark::Triangle, Mark::Diamond, Mark::Ring, Mark::Cross][place % 6]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Relative luminance of an sRGB colour (WCAG 2).
    fn luminance(colour: u32) -> f64 {
        let [_, r, g, b] = colour.to_be_bytes();
        let part = |c: u8| {
            let c = f64::from(c) / 255.0;
            if c <= 0.04045 { c / 12.92 } else { ((c + 0.055) / 1.055).powf(2.4) }
        };
        0.2126 * part(r) + 0.7152 * part(g) + 0.0722 * part(b)
    }

    fn contrast(one: u32, other: u32) -> f64 {
        let (a, b) = (luminance(one), luminance(other));
        (a.max(b) + 0.05) / (a.min(b) + 0.05)
    }

    #[test]
    fn everything_that_tells_something_stands_out_from_the_paper() {
        let paper = Ink::Paper.colour();
        for ink in (0..6).map(Ink::Tea).chain([0, 1, 3, 4].map(Ink::Vote)) {
            assert!(contrast(ink.colour(), paper) >= 3.0, "{ink:?} {:.2}", contrast(ink.colour(), paper));
        }
        for ink in [Ink::Black, Ink::Grey] {
            assert!(contrast(ink.colour(), paper) >= 4.5, "{ink:?}: it writes text");
        }
        // The counts stand in the bars: paper on the dark ones, ink on the light ones.
        for vote in [0, 4] {
            assert!(contrast(Ink::Vote(vote).colour(), paper) >= 4.5, "{vote}");
        }
        for vote in [1, 2, 3] {
            assert!(contrast(Ink::Vote(vote).colour(), Ink::Black.colour()) >= 4.5, "{vote}");
        }
    }

    #[test]
    fn hotter_water_is_darker_and_ten_degrees_can_be_told() {
        let inks: Vec<u32> = (6..=10).map(|tens| Ink::heat(f64::from(tens) * 10.0).colour()).collect();
        assert_eq!((inks[0], inks[4]), (HEAT[0], HEAT[1]));
        for pair in inks.windows(2) {
            assert!(contrast(pair[0], pair[1]) > 1.2 && luminance(pair[0]) > luminance(pair[1]), "{pair:?}");
        }
        assert_eq!((Ink::heat(20.0), Ink::heat(100.0)), (Ink::Heat(0), Ink::Heat(100)));
    }

    #[test]
    fn six_teas_differ_in_dash_and_sign_as_well() {
        for one in 0..6 {
            for other in one + 1..6 {
                assert_ne!(Dash::of(one).lengths(), Dash::of(other).lengths());
                assert_ne!(Mark::of(one), Mark::of(other));
                assert_ne!(Ink::Tea(one).colour(), Ink::Tea(other).colour());
            }
        }
    }
}
