//! The JSON Schema of a case, from the fields that the stage itself reads.

use gauge::{Described, Field, Sort};
use process::Face;
use serde_json::{Map, Value, json};

/// Gives the schema (draft 2020-12) of the cases `face` takes.
pub(super) fn of(face: &Face) -> Value {
    let mut root = object();
    for described in (face.describe)() {
        place(&mut root, &described);
    }
    let map = root.as_object_mut().expect("made as an object");
    let mut out = Map::new();
    out.insert("$schema".into(), "https://json-schema.org/draft/2020-12/schema".into());
    out.insert("title".into(), face.title.into());
    out.insert("description".into(), face.does.into());
    out.append(map);
    Value::Object(out)
}

fn object() -> Value {
    json!({ "type": "object", "properties": {}, "additionalProperties": false })
}

fn place(root: &mut Value, described: &Described) {
    let mut at = root;
    let steps: Vec<&str> = described.path.split('.').collect();
    let (last, above) = steps.split_last().expect("a path has a key");
    for step in above {
        let key = step.trim_end_matches("[]");
        at = &mut at["properties"][key];
        if step.ends_with("[]") {
            at = &mut at["items"];
        }
    }
    let (schema, required) = schema(&described.sort);
    let seen = &mut at["properties"][*last];
    // One key may be read by more than one alternative; the first tells.
    if !seen.is_null() {
        return;
    }
    *seen = schema;
    if required {
        if at["required"].is_null() {
            at["required"] = json!([]);
        }
        at["required"].as_array_mut().expect("made as a list").push((*last).into());
    }
}

fn schema(sort: &Sort) -> (Value, bool) {
    match sort {
        Sort::Figure(field) => (figure(field), field.default.is_none()),
        Sort::Optional(field) => (figure(field), false),
        Sort::Choice { allowed, default } => {
            let mut value = json!({ "enum": allowed });
            if let Some(default) = default {
                value["default"] = (*default).into();
            }
            (value, default.is_none())
        }
        Sort::Word(required) => (json!({ "type": "string" }), *required),
        Sort::Flag(default) => (json!({ "type": "boolean", "default": default }), false),
        Sort::Named(field) => {
            (json!({ "type": "object", "additionalProperties": figure(field) }), false)
        }
        Sort::List => (json!({ "type": "array", "items": object() }), false),
        Sort::Part => (object(), false),
    }
}

fn figure(field: &Field) -> Value {
    let mut value = json!({ "type": "number" });
    let label = if field.label.is_empty() { field.key } else { field.label };
    let unit = if field.unit.is_empty() { String::new() } else { format!(", {}", field.unit) };
    value["description"] =
        format!("{label}{unit} ({}: {})", field.grade.word(), field.source).into();
    if field.low > f64::MIN {
        value["minimum"] = field.low.into();
    }
    if field.high < f64::MAX {
        value["maximum"] = field.high.into();
    }
    if let Some(default) = field.default {
        value["default"] = default.into();
    }
    value
}
