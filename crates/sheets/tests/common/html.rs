//! A strict little reader of the page: every element closed in order, every attribute once and quoted.
#![allow(dead_code, reason = "every test file uses its own part of it")]

/// What the reader found.
pub(crate) struct Html {
    /// Text of every `<section>`, without markup.
    pub(crate) sheets: Vec<String>,
    /// All text outside `<style>`, without markup.
    pub(crate) text: String,
}

/// Reads a page; panics at the first thing that is not well formed.
pub(crate) fn read(page: &str) -> Html {
    let mut html = Html { sheets: Vec::new(), text: String::new() };
    let mut open: Vec<String> = Vec::new();
    let mut rest = page.strip_prefix("<!DOCTYPE html>").expect("a doctype");
    while let Some(at) = rest.find('<') {
        put(&mut html, &open, &rest[..at]);
        let end = rest[at..].find('>').expect("a closing bracket") + at;
        let tag = &rest[at + 1..end];
        rest = &rest[end + 1..];
        if let Some(name) = tag.strip_prefix('/') {
            assert_eq!(open.pop().as_deref(), Some(name), "closed out of order");
            continue;
        }
        let (tag, empty) = tag.strip_suffix('/').map_or((tag, false), |tag| (tag, true));
        let (name, attributes) = tag.split_once(' ').unwrap_or((tag, ""));
        check_attributes(attributes);
        if name == "section" {
            html.sheets.push(String::new());
        }
        if !empty && name != "meta" {
            open.push(name.to_owned());
        }
    }
    assert!(open.is_empty(), "still open: {open:?}");
    // Lines are broken when the page is written, so what belongs together may stand on two.
    html.text = one_line(&html.text);
    html.sheets = html.sheets.iter().map(|sheet| one_line(sheet)).collect();
    html
}

fn one_line(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn put(html: &mut Html, open: &[String], text: &str) {
    check_entities(text);
    if open.last().is_some_and(|name| name == "style") {
        return;
    }
    let text = text.replace("&lt;", "<").replace("&gt;", ">").replace("&quot;", "\"").replace("&amp;", "&");
    html.text.push_str(&text);
    html.text.push(' ');
    if open.iter().any(|name| name == "section")
        && let Some(sheet) = html.sheets.last_mut()
    {
        sheet.push_str(&text);
        sheet.push(' ');
    }
}

fn check_attributes(mut text: &str) {
    let mut seen: Vec<&str> = Vec::new();
    loop {
        text = text.trim_start();
        if text.is_empty() {
            return;
        }
        let (name, after) =
            text.split_once("=\"").unwrap_or_else(|| panic!("attribute without a value: {text}"));
        assert!(!name.contains(' ') && !seen.contains(&name), "attribute {name} twice or torn");
        seen.push(name);
        let (value, after) = after.split_once('"').expect("a closing quote");
        check_entities(value);
        text = after;
    }
}

fn check_entities(text: &str) {
    for part in text.split('&').skip(1) {
        let known = ["amp;", "lt;", "gt;", "quot;", "#39;"];
        assert!(known.iter().any(|entity| part.starts_with(entity)), "a bare & before {part:.20}");
    }
}
