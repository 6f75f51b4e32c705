"""What is done to the sheets before they are sold, their sapwood and their extract, as sentences."""

from __future__ import annotations

from woodref.catalogue.material import Material

_TREATMENT_WORDS = {
    "steamed": "steamed",
    "fumed": "fumed with ammonia",
    "bleached": "bleached",
    "dyed-through": "dyed through",
    "thermally-treated": "heat-treated",
}
_SOLD_SO = {
    "common": "commonly sold so",
    "to-order": "to order",
    "rare": "rarely sold so",
    "not-known": "not known whether it is sold so",
}
_WITH_HEART = {
    "yes": "Sheets come with the sapwood in them",
    "some": "Sheets come with the sapwood left in or cut out: say which you want",
    "no": "Good sheets have the sapwood cut out",
    "unknown": "Whether sheets come with the sapwood in them is not known",
}
_BEETLES = {
    "powder-post": "Powder-post beetles eat the sapwood and breed on indoors: look for small round holes "
    "and fine flour before you store it.",
    "furniture": "Furniture beetles may eat the sapwood over the years, in damp rooms above all.",
    "seldom": "Beetles seldom touch the sapwood.",
    "unknown": "Whether beetles eat the sapwood is not known.",
}
_REACTION = {
    "acid": "Acid in water: quickens urea glue, slows phenolic glue and rusts bare steel in damp air",
    "mildly-acid": "Mildly acid in water, as most woods are",
    "neutral": "About neutral in water, less acid than most woods",
    "alkaline": "Alkaline in water: slows urea glue, so try a joint",
    "unknown": "How acid its extract is, is not known",
}


def treatment_sentences(material: Material) -> list[str]:
    """Each treatment with the colour it gives; that there is none, or that none is known."""
    if material.kind != "species" or material.veneer["sold"] == "no":
        return []
    held = material.veneer["treatments"]
    if held is None:
        return ["Whether it is sold steamed, fumed, bleached, dyed through or heat-treated is not known."]
    if not held:
        return ["Sold as it grew: not steamed, fumed, bleached, dyed or heat-treated."]
    out = []
    for item in held:
        colour = f": {item['colour']}" if item.get("colour") else ""
        out.append(f"Also {_TREATMENT_WORDS[item['kind']]}{colour} ({_SOLD_SO[item['sold']]}).")
    return out


def sapwood_sentences(material: Material) -> list[str]:
    """Its colour, whether sheets are sold with it, and the beetle that eats it."""
    out = [f"Sapwood: {material.look['sapwood']}."] if material.look["sapwood"] else []
    held = material.veneer.get("sapwood")
    if not held or material.kind == "core":
        return out
    sold = material.kind == "species" and material.veneer["sold"] != "no"
    told = held["with_heart"] == "no" and "cut out" in (material.look["sapwood"] or "")
    if not told and (sold or held["with_heart"] != "unknown"):
        out.append(f"{_WITH_HEART[held['with_heart']]}.")
    if material.kind == "species" or held["beetles"] != "unknown":
        out.append(_BEETLES[held["beetles"]])
    if held.get("note"):
        out.append(f"{held['note'][0].upper()}{held['note'][1:].rstrip('.')}.")
    return out


def extract_sentence(material: Material) -> str | None:
    """How its extract reacts and what that does to glue and steel; None for a made sheet nobody asked of."""
    held = material.working.get("extract")
    if not held or (material.kind != "species" and held["reaction"] == "unknown"):
        return None
    words = f"; {held['words'].rstrip('.')}" if held.get("words") else ""
    return f"{_REACTION[held['reaction']]}{words}."
