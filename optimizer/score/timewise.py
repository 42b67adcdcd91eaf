"""A timewise score (measures that hold parts) as a partwise one (parts that hold measures).

In: the root of a `score-timewise` tree, which is taken apart. Out: a `score-partwise` root with the same
header, the same attributes, and every musical element in its old order.
"""

from lxml import etree


def partwise(root: etree._Element) -> etree._Element:
    """Sort the measures of a timewise score by part. A part absent from a measure gets an empty one there."""
    result = etree.Element("score-partwise", attrib=dict(root.attrib), nsmap=root.nsmap)
    measures = root.findall("measure")
    header = [child for child in root if child.tag != "measure"]
    result.extend(header)
    parts: dict[str, etree._Element] = {}
    for measure in measures:
        for part in measure.iterchildren("part"):
            identity = part.get("id", "")
            if identity not in parts:
                parts[identity] = etree.SubElement(result, "part", attrib=dict(part.attrib))
    for measure in measures:
        inside = {part.get("id", ""): part for part in measure.iterchildren("part")}
        for identity, target in parts.items():
            copy = etree.SubElement(target, "measure", attrib=dict(measure.attrib))
            copy.text = copy.tail = "\n"
            if identity in inside:
                copy.extend(list(inside[identity]))
    return result
