//! What all pages share: a document that loads and runs nothing, whatever the text of the record says.

use maud::{DOCTYPE, Markup, PreEscaped, Render, html};

/// A whole page. `schemes` are the colour schemes that it can be shown in.
pub fn document(title: impl Render, schemes: &str, body: &Markup) -> String {
    let document = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="color-scheme" content=(schemes);
                meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'unsafe-inline'";
                title { (title) }
                style { (PreEscaped(include_str!("page.css"))) }
            }
            body { (body) }
        }
    };
    document.into_string()
}
