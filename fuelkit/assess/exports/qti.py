"""Questions as items of QTI 3.0, for another program that can set them. No claim of conformance.

Follows 1EdTech's "Question and Test Interoperability" 3.0. Names of elements, attributes and the
namespace were seen in public programs that read and write such items; that they are complete and
right by the specification is from memory. The tests check structure, not conformance.

THE INSTRUCTOR'S EXPORT ONLY: every item holds its key.

Which kinds fit: choice, order, figure, when (a time), reason. A state question is marked part by
part and against what was shown, a sheet follows through from the learner's own figures, a label or
a find needs the drawing: no item says that, so they are left out, and `left_out` names them.
"""

import xml.etree.ElementTree as ElementTree

from fuelkit.assess.exports.plain import plain_text
from fuelkit.assess.exports.qti_items import ITEMS, item
from fuelkit.assess.exports.qti_names import item_name

NOTE = (
    " Training aid, not for operational use. Written by fuelkit in the form of QTI 3.0; "
    "no claim of conformance is made. Holds the key: for the instructor only. "
)
"""Stands in every file."""

_PACKAGE = "http://www.imsglobal.org/xsd/qti/qtiv3p0/imscp_v1p1"


def qti_package(papers):
    """Return the questions of marked papers as a QTI package: items and their manifest.

    Parameters
    ----------
    papers : iterable of MarkedPaper
        What learners gave and earned is not looked at and stands nowhere in the package.

    Returns
    -------
    dict of str to bytes
        File names and contents: an item for each question that fits, however many papers have it,
        and imsmanifest.xml. The same questions give the same bytes, in whatever order.

    Raises
    ------
    ValueError
        If one identifier stands for two different questions, or a key cannot be read.
    """
    questions = _questions(papers)
    names = {item_name(name): questions[name] for name in sorted(questions)}
    items = {name: q for name, q in names.items() if q.kind in ITEMS}
    files = {f"{name}.xml": _bytes(item(name, question)) for name, question in items.items()}
    return {**files, "imsmanifest.xml": _bytes(_manifest(items))}


def left_out(papers):
    """Return (identifier, kind) of the questions that fit no item, by identifier."""
    questions = _questions(papers)
    return tuple((name, q.kind) for name, q in sorted(questions.items()) if q.kind not in ITEMS)


def _questions(papers):
    """Return each question once, by identifier."""
    found = {}
    for paper in papers:
        for question in paper.questions:
            known = found.setdefault(question.identifier, question)
            if _content(known) != _content(question):
                raise ValueError(
                    f"question {question.identifier!r} is not the same on all papers; "
                    "give different questions different identifiers."
                )
    return found


def _content(question):
    return (
        question.kind, question.words, frozenset(question.options), question.right, question.most,
        question.tolerance, question.unit,
    )  # fmt: skip


def _manifest(items):
    root = ElementTree.Element("manifest", {"xmlns": _PACKAGE, "identifier": "fuelkit-questions"})
    metadata = ElementTree.SubElement(root, "metadata")
    ElementTree.SubElement(metadata, "schema").text = "QTI Package"
    ElementTree.SubElement(metadata, "schemaversion").text = "3.0.0"
    ElementTree.SubElement(root, "organizations")
    resources = ElementTree.SubElement(root, "resources")
    for name in items:
        place = {"href": f"{name}.xml"}
        kind = {"identifier": f"file-{name}", "type": "imsqti_item_xmlv3p0"}
        resource = ElementTree.SubElement(resources, "resource", kind | place)
        ElementTree.SubElement(resource, "file", place)
    return root


def _bytes(root):
    """Return a tree as XML bytes, with the note first and every text made plain."""
    root.insert(0, ElementTree.Comment(NOTE))
    for element in root.iter():
        element.text = plain_text(element.text) if element.text else element.text
        for name, value in element.attrib.items():
            element.set(name, plain_text(value))
    ElementTree.indent(root, space=" ")
    return ElementTree.tostring(root, encoding="utf-8", xml_declaration=True) + b"\n"
