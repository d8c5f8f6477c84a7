//! `server/docs/json.md` is written from the types whose JSON it describes and from what they say of themselves; its first
//! part, down to the first shape, is written by hand. After a change: `KETTLECALL_BLESS=1 cargo test -p tests --test house json`.

use schemars::generate::SchemaSettings;
use serde_json::{Map, Value};
use std::collections::BTreeSet;
use std::fs;
use std::path::Path;
use summary::Summary;
use summary::find::seats::SeatPage;
use summary::several::Pool;
use summary::spot::Spots;

/// Where the part by hand ends.
const FIRST: &str = "## One class\n";
/// How wide the page's lines are.
const COLUMNS: usize = 120;

type Shapes = Map<String, Value>;

fn text<'a>(value: &'a Value, key: &str) -> &'a str {
    value[key].as_str().unwrap_or_default()
}

fn name(of: &Value) -> Option<&str> {
    text(of, "$ref").strip_prefix("#/$defs/")
}

fn said(of: &Value) -> String {
    let words: Vec<&str> = text(of, "description").split_whitespace().collect();
    words.join(" ").replace(" Its JSON is documented in `server/docs/json.md`.", "")
}

/// The values of a shape that is one of some words.
fn words(of: &Value) -> Option<Vec<&str>> {
    match (&of["enum"], &of["oneOf"]) {
        (Value::Array(all), _) => Some(all.iter().filter_map(Value::as_str).collect()),
        (_, Value::Array(all)) if all.iter().all(|value| value["const"].is_string()) => {
            Some(all.iter().map(|value| text(value, "const")).collect())
        }
        _ => None,
    }
}

/// What a value is, in words; the shapes that it names come to `named`.
fn kind<'a>(shapes: &'a Shapes, of: &'a Value, named: &mut Vec<&'a str>) -> String {
    if let Some(name) = name(of) {
        return match &shapes[name] {
            shape if words(shape).is_some() || shape["type"] == "string" => "text".into(),
            _ => {
                named.push(name);
                name.into()
            }
        };
    }
    if let Some(ways) = of["anyOf"].as_array() {
        return ways.iter().map(|way| kind(shapes, way, named)).collect::<Vec<_>>().join(" or ");
    }
    if let Some(ways) = of["type"].as_array() {
        let each = ways.iter().filter_map(Value::as_str).map(|way| match way {
            "array" => list(shapes, of, named),
            simple => plain(simple).into(),
        });
        return each.collect::<Vec<_>>().join(" or ");
    }
    match text(of, "type") {
        "array" => list(shapes, of, named),
        "object" => "why".into(),
        simple => plain(simple).into(),
    }
}

fn list<'a>(shapes: &'a Shapes, of: &'a Value, named: &mut Vec<&'a str>) -> String {
    let each = if of["items"].is_object() { &of["items"] } else { &of["prefixItems"][0] };
    format!("list of {}", kind(shapes, each, named))
}

fn plain(simple: &str) -> &str {
    match simple {
        "string" => "text",
        "integer" => "whole",
        "boolean" => "yes/no",
        other => other,
    }
}

/// The words that a value may be, behind what is said of it.
fn listed(shapes: &Shapes, of: &Value) -> String {
    let ways = of["anyOf"].as_array().map_or(std::slice::from_ref(of), Vec::as_slice);
    let all = ways.iter().filter_map(|way| words(&shapes[name(way)?])).flatten();
    let all: Vec<String> = all.map(|word| format!("`{word}`")).collect();
    if all.is_empty() { String::new() } else { format!(" {}.", all.join(", ")) }
}

/// A shape and those that it names, in the order in which they are met; each once.
fn write<'a>(shapes: &'a Shapes, shape: &'a str, seen: &mut BTreeSet<&'a str>, out: &mut String) {
    if !seen.insert(shape) {
        return;
    }
    let of = &shapes[shape];
    let head = protocol::fit::wrap(&said(of), COLUMNS).join("\n");
    *out += &format!("\n### `{shape}`\n{head}\n\n");
    let mut named = Vec::new();
    for key in of["required"].as_array().unwrap().iter().filter_map(Value::as_str) {
        let value = &of["properties"][key];
        let kind = kind(shapes, value, &mut named);
        let line = format!("- `{key}` ({kind}): {}{}", said(value), listed(shapes, value));
        let wrapped = protocol::fit::wrap(&line, COLUMNS);
        *out += &(wrapped.join("\n  ") + "\n");
    }
    named.into_iter().for_each(|name| write(shapes, name, seen, out));
}

fn shapes() -> Shapes {
    let mut generator = SchemaSettings::draft2020_12().for_serialize().into_generator();
    generator.subschema_for::<Summary>();
    generator.subschema_for::<SeatPage>();
    generator.subschema_for::<Pool>();
    generator.subschema_for::<Spots>();
    generator.take_definitions(true)
}

#[test]
fn the_document_of_the_json_is_what_the_types_say() {
    let shapes = shapes();
    let (mut seen, mut shown) = (BTreeSet::new(), FIRST.to_string());
    write(&shapes, "Summary", &mut seen, &mut shown);
    write(&shapes, "SeatPage", &mut seen, &mut shown);
    shown += "\n## Several classes\n";
    write(&shapes, "Pool", &mut seen, &mut shown);
    shown += "\n## The sweet spot\n";
    write(&shapes, "Spots", &mut seen, &mut shown);
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../server/docs/json.md");
    let page = fs::read_to_string(&path).unwrap();
    let (by_hand, written) = page.split_at(page.find(FIRST).unwrap());
    if std::env::var_os("KETTLECALL_BLESS").is_some() {
        return fs::write(&path, format!("{by_hand}{shown}")).unwrap();
    }
    let first = shown.lines().zip(written.lines()).find(|(now, before)| now != before);
    assert!(shown == written, "the types say otherwise, first in {first:?}; KETTLECALL_BLESS=1 writes it");
}

/// Holds a value that was written to what its type says.
fn hold(shapes: &Shapes, at: &str, of: &str, value: &Value) {
    let ways: Vec<&str> = of.split(" or ").collect();
    let fits = ways.iter().any(|way| match *way {
        "null" => value.is_null(),
        "why" => value.as_object().is_some_and(|o| o.len() == 1 && o["why"].is_string()),
        "text" => value.is_string(),
        "whole" => value.is_i64() || value.is_u64(),
        "number" => value.is_number(),
        "yes/no" => value.is_boolean(),
        list if list.starts_with("list of ") => value.is_array(),
        shape => {
            assert!(shapes.contains_key(shape), "{at}: no shape {shape}");
            value.as_object().is_some_and(|o| !o.contains_key("why") || o.len() > 1)
        }
    });
    assert!(fits, "{at}: {value} is no {of}");
    let list = ways.iter().find_map(|way| way.strip_prefix("list of "));
    if let (Some(each), Some(all)) = (list, value.as_array()) {
        return all.iter().for_each(|one| hold(shapes, at, each, one));
    }
    let shape = ways.iter().find_map(|way| shapes.get(*way));
    if let (Some(shape), Some(object)) = (shape, value.as_object())
        && !object.contains_key("why")
    {
        let known: BTreeSet<&String> = shape["properties"].as_object().unwrap().keys().collect();
        assert_eq!(object.keys().collect::<BTreeSet<_>>(), known, "{at}");
        for (key, value) in object {
            let of = kind(shapes, &shape["properties"][key], &mut Vec::new());
            hold(shapes, &format!("{at}.{key}"), &of, value);
        }
    }
}

#[test]
fn the_json_that_is_pinned_is_what_the_types_say() {
    let shapes = shapes();
    for (file, shape) in [
        ("evening.json", "Summary"),
        ("evening-ada.json", "SeatPage"),
        ("evening-zoe.json", "SeatPage"),
        ("both.json", "Pool"),
    ] {
        let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("pinned").join(file);
        let value: Value = serde_json::from_str(&fs::read_to_string(path).unwrap()).unwrap();
        hold(&shapes, file, shape, &value);
    }
}
