use super::*;

fn of(sure: Sure) -> Guide {
    let line = |dose_g_per_100_ml, sure| Line {
        dose_g_per_100_ml,
        first_c: 95.0,
        last_c: 98.0,
        rinse_s: Some(5),
        steep_s: vec![0, 20, 25],
        sure,
    };
    let group = Group {
        leaf: "ball-rolled, <b>".into(),
        tasted: vec!["Lantern Slope".into()],
        not_liked: Vec::new(),
        short: Some(line(3.04, Sure::Practice)),
        long: Some(line(6.0, sure)),
    };
    Guide {
        rehearsals: 0,
        classes: 1,
        days: Some(("2026-11-28".into(), "2026-11-28".into())),
        groups: vec![group],
    }
}

#[test]
fn every_line_says_in_plain_words_how_sure_it_is() {
    let tasted = |by| Sure::Tasted(Tasted { classes: 2, seats: 1, by });
    for (sure, words) in [
        (tasted(By::Shown), "tasted in 2 classes, 1 seat: shown to be liked better than another way"),
        (tasted(By::Middle(3)), "the middle of 3 ways that were liked; none shown to be better"),
        (tasted(By::Middle(1)), "the one way that was liked; not shown to be better"),
        (tasted(By::Only), "liked, but the only way tasted"),
        (Sure::Spot("found elsewhere".into()), "found elsewhere"),
        (Sure::Practice, "common practice only"),
    ] {
        let page = html(&of(sure));
        assert!(page.contains(words), "{words}: {page}");
    }
    let mut bad = of(Sure::Practice);
    bad.groups[0].not_liked = vec!["Lantern Slope".into()];
    (bad.groups[0].short, bad.groups[0].long) = (None, None);
    let page = html(&bad);
    assert!(
        page.contains("no way of it was liked: Lantern Slope") && page.contains("<th rowspan=\"1\">"),
        "{page}"
    );
    let none = Guide { classes: 0, days: None, rehearsals: 1, ..of(Sure::Practice) };
    assert!(html(&none).contains("Only rehearsals are there"));
    let page = html(&of(Sure::Practice));
    assert_eq!(page.matches("common practice only").count(), 2);
    assert!(
        page.contains("Ball-rolled, &lt;b&gt;")
            && page.contains("flash, 20, 25")
            && page.contains("95 to 98")
    );
    assert!(page.contains("From 1 class, 2026-11-28.") && page.contains("Hot water scalds"));
}
