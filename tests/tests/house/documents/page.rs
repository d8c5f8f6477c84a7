//! A page of the documents, taken apart: its fenced blocks and where its links lead.

/// What stands between two fences.
pub struct Block {
    /// The page and the line of the opening fence, for people.
    pub place: String,
    /// The words behind the opening fence.
    pub info: Vec<String>,
    /// The lines between the fences.
    pub lines: Vec<String>,
    /// Why its commands are not run, if the line above says so: `<!-- not run: … -->`.
    pub not_run: Option<String>,
}

/// The blocks of a page, in their order.
pub fn blocks(name: &str, text: &str) -> Vec<Block> {
    let mut blocks = Vec::new();
    let mut open: Option<Block> = None;
    let mut above = "";
    for (number, line) in (1..).zip(text.lines()) {
        // A block inside a list is indented as a whole.
        let bare = line.trim_start();
        match &mut open {
            Some(_) if bare.trim_end() == "```" => blocks.extend(open.take()),
            Some(block) => block.lines.push(line.to_string()),
            None => {
                if let Some(info) = bare.strip_prefix("```") {
                    let reason =
                        above.strip_prefix("<!-- not run: ").and_then(|rest| rest.strip_suffix(" -->"));
                    open = Some(Block {
                        place: format!("{name}:{number}"),
                        info: info.split_whitespace().map(String::from).collect(),
                        lines: Vec::new(),
                        not_run: reason.map(String::from),
                    });
                }
            }
        }
        above = bare;
    }
    assert!(open.is_none(), "{name}: a fence is not closed");
    for block in &mut blocks {
        let indent = |line: &String| line.len() - line.trim_start().len();
        let indent = block.lines.iter().filter(|line| !line.trim().is_empty()).map(indent).min().unwrap_or(0);
        for line in &mut block.lines {
            *line = line.get(indent..).unwrap_or("").to_string();
        }
    }
    blocks
}

/// Where the links of a page lead, each with its line, without those inside blocks.
pub fn links(text: &str) -> Vec<(usize, String)> {
    let mut links = Vec::new();
    let mut inside = false;
    for (number, line) in (1..).zip(text.lines()) {
        if line.trim_start().starts_with("```") {
            inside = !inside;
        } else if !inside {
            let targets = line.split("](").skip(1).filter_map(|rest| rest.split_once(')'));
            links.extend(targets.map(|(target, _)| (number, target.to_string())));
        }
    }
    links
}

/// The anchors that a page's headings make: lower case, hyphens for spaces, no other marks.
pub fn anchors(text: &str) -> Vec<String> {
    let heading = |line: &str| {
        let words = line.strip_prefix('#')?.trim_start_matches('#').strip_prefix(' ')?;
        let kept = words.trim().chars().filter(|c| c.is_alphanumeric() || matches!(c, ' ' | '-' | '_'));
        Some(kept.collect::<String>().to_lowercase().replace(' ', "-"))
    };
    text.lines().filter_map(heading).collect()
}

#[test]
fn a_page_is_taken_apart_into_blocks_links_and_anchors() {
    let text = "# A class, held\n[one](a.md#b) and [two](c.md)\n\n<!-- not run: needs a network -->\n  ```console host\n  $ a\n    b\n  ```\n\n```text\n[no](link)\n```\n";
    let found = blocks("page", text);
    assert_eq!(found.len(), 2);
    assert_eq!((found[0].place.as_str(), found[0].info.join(" ").as_str()), ("page:5", "console host"));
    assert_eq!(found[0].lines, ["$ a", "  b"]);
    assert_eq!(found[0].not_run.as_deref(), Some("needs a network"));
    assert_eq!(found[1].not_run, None);
    assert_eq!(links(text), [(2, "a.md#b".to_string()), (2, "c.md".to_string())]);
    assert_eq!(anchors(text), ["a-class-held"]);
}
