"""What stands in a PDF: its words, its tags, and what lies beyond an edge of its pages."""

import io

from pypdf import PdfReader


def read(data):
    """A PDF as pypdf reads it."""
    return PdfReader(io.BytesIO(data))


def text_of(data):
    """All words of a PDF, with single blanks."""
    return " ".join(" ".join(page.extract_text().split()) for page in read(data).pages)


def tags(element, found):
    """Every tagged element below one, as (its kind, what is read out in its place)."""
    kids = element.get("/K", [])
    for kid in kids if isinstance(kids, list) else [kids]:
        kid = kid.get_object() if hasattr(kid, "get_object") else kid
        if isinstance(kid, dict):
            if "/S" in kid:
                found.append((kid["/S"], str(kid.get("/Alt", ""))))
            tags(kid, found)
    return found


def words_outside(page):
    """Words that begin beyond the edge of their page."""
    found, box = [], page.mediabox

    def seen(text, current, matrix, _font, _size):
        x = matrix[4] * current[0] + matrix[5] * current[2] + current[4]
        y = matrix[4] * current[1] + matrix[5] * current[3] + current[5]
        if text.strip() and not (0 <= x <= box.width and 0 <= y <= box.height):
            found.append((text, x, y))

    page.extract_text(visitor_text=seen)
    return found
