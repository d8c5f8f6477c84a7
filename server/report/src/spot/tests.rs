use super::page::html;
use fixtures::several::leaves;
use room::Room;
use room::light::ClassScores;
use summary::several::digest::Digest;
use summary::spot::fitted::USUAL;
use summary::spot::spots;

/// The page of classes of one steep by so many ways, which differ in leaf alone.
fn page(classes: u16, ways: u16) -> String {
    let ledgers = leaves((classes, 1, ways, 0), |_, _, way, _| [4, 7, 5, 3][usize::from(way)], |_, _| 0);
    let read = |entries| {
        let record = ClassScores::of(&Room::replay(entries).unwrap());
        let digest = Digest::of(&record);
        (record, digest)
    };
    html(&spots(&ledgers.into_iter().map(read).collect::<Vec<_>>(), Some(USUAL)))
}

#[test]
fn where_only_the_leaf_was_varied_there_is_one_picture_and_no_word_of_others() {
    let page = page(2, 4);
    assert_eq!(page.matches("<svg").count(), 1);
    for words in [
        "Leaf by itself",
        "leaf, g to 100 ml</text>",
        "16 seats in 2 classes",
        "<desc>Liking expected",
        "Hot water scalds",
    ] {
        assert!(page.contains(words), "{words}: {page}");
    }
    for never in ["<script", "http", "Each number is a way", "can't be told from it lie within"] {
        assert!(!page.contains(never), "{never}");
    }
}

#[test]
fn too_few_ways_get_words_and_no_picture() {
    let few = page(1, 2);
    assert!(
        few.contains("Too few ways") && !few.contains("<svg") && !few.contains("below the best"),
        "{few}"
    );
    let one = page(1, 1);
    assert!(one.contains("Tasted in one way only") && !one.contains("<svg"), "{one}");
}
