//! A paper as HTML: a whole self-contained page, or sections for another one.

use maud::{Markup, html};

use super::{Block, Paper, Table};
use crate::record::page::document::document;

/// The paper as a page that prints well. Nothing is loaded or run; all text is escaped.
pub fn page(paper: &Paper) -> String {
    let title = html! { (paper.kind) ": " (paper.title) };
    let body = html! {
        main {
            header {
                p.kind { (paper.kind) }
                h1 { (paper.title) }
            }
            (sections(&paper.blocks))
        }
        footer { p { (paper.foot) } }
    };
    document(title, "light dark", &body)
}

/// Blocks as sections, one a heading.
pub fn sections(blocks: &[Block]) -> Markup {
    let mut rest = blocks;
    let mut parts: Vec<(Option<&str>, &[Block])> = Vec::new();
    while let Some(first) = rest.first() {
        let (title, under) = match first {
            Block::Heading(title) => (Some(title.as_str()), &rest[1..]),
            _ => (None, rest),
        };
        let end = under.iter().position(|block| matches!(block, Block::Heading(_))).unwrap_or(under.len());
        parts.push((title, &under[..end]));
        rest = &under[end..];
    }
    html! {
        @for (title, under) in parts {
            @if let Some(title) = title {
                section.paper { h2 { (title) } @for piece in under { (block(piece)) } }
            } @else {
                div.paper { @for piece in under { (block(piece)) } }
            }
        }
    }
}

fn block(block: &Block) -> Markup {
    html! {
        @match block {
            Block::Heading(text) => h2 { (text) }
            Block::Text(text) => p { (text) }
            Block::Strong(text) => p { strong { (text) } }
            Block::Facts(facts) => dl.facts { @for (name, value) in facts { div { dt { (name) } dd { (value) } } } }
            Block::List(points) => ul { @for point in points { li { (point) } } }
            Block::Table(rows) => (table(rows))
            Block::Plot(_) | Block::Belief(_) => {}
        }
    }
}

fn table(table: &Table) -> Markup {
    html! {
        table.table {
            thead { tr { @for (name, _, number) in &table.columns { th scope="col" .num[*number] { (name) } } } }
            tbody {
                @for row in &table.rows {
                    tr { @for (cell, (_, _, number)) in row.iter().zip(&table.columns) { td .num[*number] { (cell) } } }
                }
            }
        }
    }
}
