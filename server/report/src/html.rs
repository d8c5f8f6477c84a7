//! What both pages share. A page is written by [`maud`], which escapes every text where it is put in; so text from people is
//! shown and never runs. Only the style is put in as it is, and what `page/canvas.rs` has drawn.

use maud::{DOCTYPE, Markup, PreEscaped, html};

/// A whole page. Nothing in it is fetched and nothing runs, so it can be mailed, kept and printed.
pub fn page(title: &str, style: &str, body: &Markup) -> String {
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { (title) }
                style { (PreEscaped(style)) }
            }
            body { (body) }
        }
    };
    page.into_string() + "\n"
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn text_from_people_never_runs() {
        let name = "</title><script>alert(\"1\" & '2')</script>";
        let page = page(name, "p{margin:0}", &html! { p title=(name) { (name) } });
        assert_eq!(page.matches("<script").count(), 0, "{page}");
        assert_eq!(page.matches("&lt;script&gt;alert(&quot;1&quot; &amp; '2')").count(), 3, "{page}");
    }
}
