//! Values of a screen page, by their `data-field`.

use super::Found;

pub(super) fn read(bytes: &[u8]) -> Result<Vec<Found>, String> {
    let text = std::str::from_utf8(bytes).map_err(|e| format!("it is not UTF-8: {e}"))?;
    let options = roxmltree::ParsingOptions { allow_dtd: true, ..Default::default() };
    let page = roxmltree::Document::parse_with_options(text, options).map_err(|e| format!("it is not well-formed: {e}"))?;
    if page.descendants().any(|n| n.has_tag_name("script") || n.attributes().any(|a| a.name() == "style" || a.name().starts_with("on"))) {
        return Err("it holds a script or a style on an element".to_owned());
    }
    let field = |n: roxmltree::Node<'_, '_>| {
        let id = n.attribute("data-field")?.to_owned();
        Some(Found { id, text: n.descendants().filter(|n| n.is_text()).filter_map(|n| n.text()).collect() })
    };
    Ok(page.descendants().filter_map(field).collect())
}
