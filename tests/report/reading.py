"""A page of Markdown read back by a parser that knows nothing of the writer."""

from markdown_it import MarkdownIt
from markdown_it.token import Token

_PARSER = MarkdownIt("commonmark").enable(["table", "strikethrough"])
_OURS = {"text", "strong_open", "strong_close"}


def _words(inline: Token) -> str:
    """The text of an inline token; anything but plain and strong text is a breach."""
    children = inline.children or []
    strange = {child.type for child in children} - _OURS
    assert not strange, (strange, inline.content[:200])
    return "".join(child.content for child in children)


def cells(page: str) -> list[list[list[str]]]:
    """For each table of the page, its rows of cells as they are shown; the first row names the columns."""
    tables: list[list[list[str]]] = []
    inside = False
    for token in _PARSER.parse(page):
        if token.type == "table_open":
            tables.append([])
            inside = True
        elif token.type == "table_close":
            inside = False
        elif token.type == "tr_open":
            tables[-1].append([])
        elif token.type == "inline" and inside:
            tables[-1][-1].append(_words(token))
    return tables


def plain_text(page: str) -> tuple[list[str], list[str]]:
    """(tags, texts) of headings, items and paragraphs in their order."""
    tags: list[str] = []
    texts: list[str] = []
    holder = ""
    for token in _PARSER.parse(page):
        assert token.type not in ("html_block", "fence", "code_block", "hr", "blockquote_open"), token.content[:200]
        if token.type in ("heading_open", "list_item_open") or (token.type == "paragraph_open" and token.level == 0):
            holder = token.tag
        elif token.type == "inline" and holder:
            tags.append(holder)
            texts.append(_words(token))
            holder = ""
    return tags, texts
