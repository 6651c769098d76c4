"""Which names a liquid is given.

For liquids chosen by hand: their names, and the package's two systematic ones. For the others:
the name of the CRC Handbook's table of organic compounds, and of the package's common and
systematic names those that read as names of a structure. To both, common names that we vouch
for (`inputs/common_names.csv`). The package's longer list is not used:
it holds trade names, and words that mean another liquid ("methylacetate" for propionic acid).
"""

import re
from functools import cache

from liquid_tables.packages import INPUTS, identity, package_table, read_rows

# A name is kept when it is built from the parts of systematic and semi-systematic names …
CHEMICAL = re.compile(
    r"(ane|ene|yne|diene|ol|diol|thiol|one|dione|al|ate|oate|ide|amide|ine|amine|nitrile|ether"
    r"|acid|oxide|sulfide|disulfide|aldehyde|phenone|anisole|toluene|xylene|benzene|furan|pyran"
    r"|pyrrole|thiophene|oxane|silane|phosphate|phosphite|borate|titanate|cyanate|chloride"
    r"|bromide|iodide|fluoride|hydride|anhydride|lactone|lactam|carbonate|formate|ketone"
    r"|acetal|ylene|pyridine|indene|styrene|cymene|cumene|cresol|phenol|mercaptan)\)?$"
)
# … and holds no trade name (endings alone do not tell: these end like chemical names).
TRADE = re.compile(
    r"cellosolve|carbitol|freon|dowanol|dowtherm|solvesso|vulkacit|genetron|halon|skellysolve"
    r"|proglyde|propasol|arcosolv|ektasolve|tergitol|pluronic|isopar|varsol|texanol|santicizer"
    r"|flexol|kodaflex|mesamoll|citroflex|lindol|fyrol|tinuvin|irganox|ionol\b|topanol|sevin"
    r"|malathion|parathion|fluothane|halothane|enflurane|isoflurane|methoxyflurane|perclene"
    r"|amchlor|triclene|polysolv|jeff|eastman|hexyl cello|butyl oxitol|oxitol|methylal\b"
)
# Words of a nomenclature nobody reads aloud ("bromanyl", "oxidanylidene").
UNREAD = re.compile(r"(chlor|brom|fluor|iod|oxid|az|sulf|phosph|sil|alum|bor)an(yl|e?id|ium)")


def is_chemical(name: str) -> bool:
    """Whether a name reads as one of a structure, not as a trade name, a number or a code."""
    text = name.strip().lower()
    if re.fullmatch(r"[\d-]+", text) or ";" in text or "[" in text or len(text) > 70:
        return False
    return bool(CHEMICAL.search(text)) and not TRADE.search(text) and not UNREAD.search(text)


def plain(name: str) -> str:
    """Return a name as it stands inside a sentence: "2-Methyl-1-propanol" without its capital.

    Capitals that mean something stay: N-methyl, D-limonene, E and Z.
    """
    text = " ".join(name.split())
    return re.sub(r"(?<![A-Za-z])([A-Z])(?=[a-z])", lambda match: match[1].lower(), text)


def locants(name: str) -> str:
    """Give back the capitals that the package has lost: "n,n-dimethyl…", "1h-indene", "(2z)-…"."""
    text = re.sub(r"\bn(?=[,-]|')", "N", name)
    text = re.sub(r"\b(\d[ab]?)h(?=-)", r"\1H", text)
    return re.sub(r"\((\d*[ezrs](,\d*[ezrs])*)\)", lambda match: match[0].upper(), text)


def handbook_name(cas: str) -> str:
    """Return the CRC Handbook's name, or nothing."""
    row = package_table("Misc", "Physical Constants of Organic Compounds.csv").get(cas)
    return plain(row["Name"]) if row else ""


def package_names(cas: str) -> list[str]:
    """Return the package's common and systematic names that read as names."""
    meta = identity(cas)
    if meta is None:
        return []
    both = (meta.common_name, meta.iupac_name)
    return [fix_normal(plain(locants(name))) for name in both if is_chemical(name)]


def fix_normal(name: str) -> str:
    """Write the n of an unbranched chain small again: "N-butyl acetate" is no amine."""
    meant = re.match(r"N-(?=(propyl|butyl|pentyl|hexyl|heptyl|octyl|nonyl|decyl|dodecyl)\b)", name)
    return f"n-{name[2:]}" if meant and not re.search(r"am(ine|ide)|anilin|az", name) else name


def names_of(cas: str) -> list[str]:
    """Return the display name first, then the others, without repeats; empty when none will do."""
    found = [name for name in (handbook_name(cas), *package_names(cas)) if name]
    unique: dict[str, str] = {}
    for name in found:
        unique.setdefault(re.sub(r"[\W_]", "", name.lower()), name)
    return list(unique.values())


@cache
def common_names() -> dict[str, list[str]]:
    """Return common names that we vouch for, by CAS number; one name may mean several liquids."""
    rows = read_rows(INPUTS / "common_names.csv")
    return {row["cas"]: row["names"].split(";") for row in rows}


def names_of_chosen(cas: str, name: str, chosen: str) -> list[str]:
    """Return the names of a liquid chosen by hand; its own first."""
    meta = identity(cas)
    wanted = [name, *(entry for entry in chosen.split(";") if entry)]
    for entry in (meta.common_name, meta.iupac_name) if meta else ():
        if entry.lower() not in {known.lower() for known in wanted}:
            wanted.append(entry)
    return wanted
