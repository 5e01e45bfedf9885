//! `sheet.html`.

use super::{Block, Body, Page, Sheet};
use crate::show::{
    drawing::Drawing,
    html::{escape, fill, items},
};

const PAGE: &str = include_str!("page.html");
const STYLE: &str = include_str!("page.css");
const ON_PAPER: &str = include_str!("../paper.css");

pub fn write(sheet: &Sheet) -> String {
    let pages: String = sheet.pages.iter().map(page).collect();
    fill(
        PAGE,
        &[
            ("title", &escape(&sheet.title)),
            ("pictures", crate::show::PICTURES),
            ("on_paper", ON_PAPER),
            ("style", STYLE),
            ("pages", &pages),
        ],
    )
}

fn page(page: &Page) -> String {
    let heading = escape(&page.heading);
    let row = |row: &Vec<Drawing>| {
        let figures: String = row.iter().map(|p| format!("<figure>{}</figure>", p.svg())).collect();
        format!("<div class=\"pictures\">{figures}</div>\n")
    };
    let pictures: String = page.pictures.iter().map(row).collect();
    let blocks = |some: &[Block]| some.iter().map(block).collect::<String>();
    let [left, right] = page.columns.each_ref().map(|column| blocks(column));
    format!(
        "<section class=\"page\" aria-label=\"{heading}\">\n<header><h1>{heading}</h1><p class=\"under\">{}</p></header>\n\
         {pictures}<div class=\"two\">\n<div>{left}</div>\n<div>{right}</div>\n</div>\n{}\n</section>\n",
        escape(&page.under),
        blocks(&page.foot)
    )
}

fn block(Block { head, body }: &Block) -> String {
    let head = match *head {
        "" => String::new(),
        head => format!("<h2>{head}</h2>"),
    };
    let list = |texts: &[String]| items(texts.iter().map(String::as_str));
    match body {
        Body::Table(rows) => {
            let rows: String = rows
                .iter()
                .map(|(name, says)| {
                    // A row that goes on from the one above has no head of its own.
                    let head = if name.is_empty() { "td" } else { "th" };
                    format!("<tr><{head}>{name}</{head}><td>{}</td></tr>", escape(says))
                })
                .collect();
            format!("{head}<table>{rows}</table>")
        }
        Body::Numbered(texts) => format!("{head}<ol>{}</ol>", list(texts)),
        Body::Ticks(texts) => format!("{head}<ul class=\"ticks\">{}</ul>", list(texts)),
        Body::Points(texts) => format!("{head}<ul class=\"points\">{}</ul>", list(texts)),
        Body::Alarm(texts) => {
            format!("<div class=\"warnings\">{head}<ul>{}</ul></div>", list(texts))
        }
        Body::Sentence(text) => format!("{head}<p>{}</p>", escape(text)),
    }
}
