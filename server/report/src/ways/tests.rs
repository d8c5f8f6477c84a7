use plan::ways::compare;

const FIVE: &str = include_str!("../../../../demo/ways.toml");
const TWO_LEAVES: &str = "
[[way]]
who = \"Ann <b>\"
form = \"open\"
age_years = 8
dose_g_per_100_ml = 5
temp_c = 100
steep_s = [0, 0, 10]

[[way]]
who = \"Bao\"
form = \"open\"
age_years = 12
dose_g_per_100_ml = 5.5
temp_c = 98
steep_s = [5, 5, 10]

[[way]]
who = \"Cleo\"
oxidation = \"green\"
leaf_g = 3
water_ml = 150
temp_c = { from = 75, to = 85 }
steep_s = [120, 180]
";

fn text(of: &str, width: usize) -> String {
    super::text::text(&compare(&class::read::ways(of).unwrap()), width)
}

#[test]
fn ways_as_they_are_read_on_a_terminal() {
    insta::assert_snapshot!("five-80", text(FIVE, 80));
    insta::assert_snapshot!("two-leaves-60", text(TWO_LEAVES, 60));
}

#[test]
fn no_line_is_wider_than_the_terminal() {
    for width in [60, 80, 100] {
        for line in [text(FIVE, width), text(TWO_LEAVES, width)].concat().lines() {
            assert!(line.chars().count() <= width, "{width}: {line}");
        }
    }
}

#[test]
fn the_page_names_everybody_and_lets_nothing_run() {
    let page = super::page::html(&compare(&class::read::ways(TWO_LEAVES).unwrap()));
    assert!(!page.contains("Ann <b>") && page.contains("Ann &lt;b&gt;"));
    assert!(page.contains("Bao 98 °C</text>") && page.contains("middle way"), "{page}");
    assert_eq!(page.matches("<svg").count(), 1, "a single way has no picture");
    assert!(page.contains("Hot water scalds"));
}
