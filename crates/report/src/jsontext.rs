//! JSON as text: a member to a line, and lists of plain values on one line, so that ids stay together.

use serde_json::Value;

/// A value as text, ending in a line break.
pub(crate) fn written(value: &Value) -> String {
    let mut out = String::new();
    write(value, 0, &mut out);
    out.push('\n');
    out
}

fn write(value: &Value, depth: usize, out: &mut String) {
    match value {
        Value::Array(items) if items.iter().all(|item| !item.is_array() && !item.is_object()) => {
            let items: Vec<String> = items.iter().map(Value::to_string).collect();
            out.push_str(&format!("[{}]", items.join(", ")));
        }
        Value::Array(items) => {
            let members = items.iter().map(|item| (None, item));
            lines('[', ']', members, depth, out);
        }
        Value::Object(members) if members.is_empty() => out.push_str("{}"),
        Value::Object(members) => {
            let members = members.iter().map(|(key, member)| (Some(key.as_str()), member));
            lines('{', '}', members, depth, out);
        }
        plain => out.push_str(&plain.to_string()),
    }
}

fn lines<'v>(
    open: char,
    close: char,
    members: impl Iterator<Item = (Option<&'v str>, &'v Value)>,
    depth: usize,
    out: &mut String,
) {
    let inside = depth.saturating_add(1);
    out.push(open);
    for (index, (key, member)) in members.enumerate() {
        out.push_str(if index > 0 { ",\n" } else { "\n" });
        out.push_str(&" ".repeat(inside));
        if let Some(key) = key {
            out.push_str(&format!("{}: ", Value::from(key)));
        }
        write(member, inside, out);
    }
    out.push('\n');
    out.push_str(&" ".repeat(depth));
    out.push(close);
}
