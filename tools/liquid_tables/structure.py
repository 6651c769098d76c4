"""What a structure says by rule: the class of a liquid, and the hazards to expect of it.

The rules are recalled from the trade's lists of peroxide formers, monomers, reactive and toxic
families; they are written as SMARTS patterns and applied with rdkit.
"""

from functools import cache

from rdkit import Chem, RDLogger

RDLogger.DisableLog("rdApp.*")

HALOGENS = {"F", "Cl", "Br", "I"}

# Functional groups; a liquid with more than one kind is of the class "several groups".
GROUPS = {
    "acid": "[CX3](=O)[OX2H1]",
    "ester": "[CX3](=O)[OX2;!H1][#6]",
    "aldehyde": "[CX3H1](=O)[#6,#1]",
    "ketone": "[#6][CX3](=O)[#6]",
    "alcohol": "[CX4][OX2H]",
    "phenol": "c[OX2H]",
    "ether": "[#6;!$(C=O)][OX2][#6;!$(C=O)]",
    "amide": "[CX3](=O)[NX3]",
    "amine": "[NX3;!$(N-C=O);!$(N~[O,N,S,P]);!$(N-C#N)]",
    "nitrile": "C#N",
    "nitro": "[N+](=O)[O-]",
    "pyridine": "[nX2]",
    "sulphide or thiol": "[#16X2]",
}
HAZARDS = (
    ("peroxide-former", "[CX4;!H0][OX2;!r3][CX4]", "aliphatic ether"),
    ("peroxide-former", "[CX3]=[CX3][OX2][#6;!$(C=O)]", "vinyl ether"),
    ("peroxide-former", "[CX4;!H0;R][CX3;R]=[CX3;R]", "ring with allylic hydrogen"),
    ("peroxide-former", "[CX3]=[CX3][CX3]=[CX3]", "conjugated diene"),
    ("peroxide-former", "[CX3]=[CX3]C#C", "vinylacetylene"),
    ("peroxide-former", "[CX4;H1](c)([#6])[#6]", "tertiary benzylic hydrogen"),
    ("peroxide-former", "[CX4;H2;R]c", "ring with benzylic hydrogen"),
    ("peroxide-former", "[CX4;H1;R2]", "tertiary hydrogen between rings"),
    ("peroxide-former", "[CX4;H1]([#6])([#6])[OX2H]", "secondary alcohol"),
    ("self-reactive", "[CX3;H2]=[CX3]C(=O)[OX2,N]", "acrylic monomer"),
    ("self-reactive", "[CX3;H2]=[CX3][OX2]C=O", "vinyl ester"),
    ("self-reactive", "[CX3;H2]=[CX3]C#N", "acrylonitrile"),
    ("self-reactive", "[CX3;H2]=[CX3]c", "styrene"),
    ("self-reactive", "[CX3]=[CX3][CX3]=[CX3]", "conjugated diene"),
    ("self-reactive", "C1OC1", "epoxide"),
    ("self-reactive", "[CX3;H2]=[CX3][CX3H1]=O", "acrylic aldehyde"),
    ("self-reactive", "C1CN1", "aziridine"),
    ("self-reactive", "[OX2][OX2]", "organic peroxide"),
    ("self-reactive", "[#6][NX2]=[NX2][#6]", "azo compound"),
    ("self-reactive", "[#6]=[NX2][OX2H]", "oxime"),
    ("self-reactive", "[NX3;!$(N~O)][NX3;!$(N~O)]", "hydrazine"),
    ("self-reactive", "C=C=O", "ketene"),
    ("self-reactive", "C#[CH]", "terminal alkyne"),
    ("nitrated", "[N+](=O)[O-]", "nitro compound"),
    ("nitrated", "[OX2]N=O", "nitrite ester"),
    ("nitrated", "[OX2][N+](=O)[O-]", "nitrate ester"),
    ("nitrated", "[NX3]N=O", "nitrosamine"),
    ("azide", "[NX2]=[N+]=[N-]", "azide"),
    ("azide", "[NX1-]-[NX2+]#[NX1]", "azide"),
    ("azide", "C=[N+]=[N-]", "diazo compound"),
    ("pyrophoric", "[#6][Al,Zn,Li,Mg,Ga,In,Be,Cd]", "metal alkyl"),
    ("pyrophoric", "[PX3;!H0]", "phosphine"),
    ("pyrophoric", "[PX3]([CX4])([CX4])[CX4]", "trialkyl phosphine"),
    ("pyrophoric", "[BX3]([#6])([#6])[#6]", "boron alkyl"),
    ("pyrophoric", "[SiH4,SiH3,GeH4,GeH3,AsH3,AsH2,BH2,BH3]", "hydride"),
    ("pyrophoric", "[Fe,Ni,Co]", "metal carbonyl"),
    ("water-reactive", "[CX3](=O)[F,Cl,Br,I]", "acyl halide"),
    ("water-reactive", "[Si,Ge,Sn,Ti,B,P][F,Cl,Br,I]", "halide that water splits"),
    ("water-reactive", "S(=O)[Cl,Br]", "sulphonyl or sulphinyl halide"),
    ("water-reactive", "[NX2]=C=O", "isocyanate"),
    ("water-reactive", "[CX3](=O)[OX2][CX3](=O)", "acid anhydride"),
    ("water-reactive", "[#6][Al,Zn,Li,Mg]", "metal alkyl"),
    ("acutely-toxic", "C#N", "nitrile"),
    ("acutely-toxic", "[NX2]=C=[O,S]", "isocyanate or isothiocyanate"),
    ("acutely-toxic", "[NX3;!$(N~O);!$(N-C=O)][NX3;!$(N~O);!$(N-C=O)]", "hydrazine"),
    ("acutely-toxic", "C1CN1", "aziridine"),
    ("acutely-toxic", "[OX2]S(=O)(=O)[OX2]", "dialkyl sulphate"),
    ("acutely-toxic", "O=C([Cl])[OX2]", "chloroformate"),
    ("acutely-toxic", "[CX3]=[CX3][CX3H1]=O", "unsaturated aldehyde"),
    ("acutely-toxic", "C=CC[OX2H,Cl,Br,I,NH2]", "allyl alcohol, halide or amine"),
    ("acutely-toxic", "[Hg,Pb,Tl,As,Se,Te,Cd,Be,Ni,Os]", "toxic element"),
    ("acutely-toxic", "[Sn][#6]", "organotin"),
    ("acutely-toxic", "P(=S)[O,S]", "thiophosphate"),
    ("acutely-toxic", "P(=O)([F,S,$(OC=C)])[O,S,N]", "reactive phosphorus ester"),
    ("acutely-toxic", "[CX4;H2]([Cl,Br,I])C=O", "lachrymatory halide"),
    ("acutely-toxic", "c[CX4;H2][Cl,Br,I]", "benzyl halide"),
    ("acutely-toxic", "[SX2](CCCl)CCCl", "mustard"),
    ("acutely-toxic", "c[NX3;H2,H1]", "aniline"),
    ("acutely-toxic", "c[N+](=O)[O-]", "nitroaromatic"),
    ("acutely-toxic", "[CX4;H3,H2][SX2H]", "thiol"),
    ("forms-hf", "[F]", "fluorine"),
    ("forms-hcl", "[Cl]", "chlorine"),
    ("forms-phosgene", "[#6][Cl]", "carbon and chlorine"),
)  # fmt: skip


@cache
def pattern(smarts: str) -> Chem.Mol:
    return Chem.MolFromSmarts(smarts)


@cache
def molecule(smiles: str) -> Chem.Mol | None:
    return Chem.MolFromSmiles(smiles)


def hazards(smiles: str) -> list[tuple[str, str]]:
    """Return (hazard, family of structure), one row per hazard, the families joined."""
    made = molecule(smiles)
    if made is None:
        return []
    found: dict[str, list[str]] = {}
    for hazard, smarts, family in HAZARDS:
        if made.HasSubstructMatch(pattern(smarts)) and family not in found.get(hazard, []):
            found.setdefault(hazard, []).append(family)
    return [(hazard, "; ".join(families)) for hazard, families in found.items()]


def chemical_class(smiles: str) -> str:
    """Return the class of a liquid for estimates from its class."""
    made = molecule(smiles)
    if made is None:
        return "other"
    elements = {atom.GetSymbol() for atom in made.GetAtoms()}
    if "C" not in elements or elements - ({"C", "H", "N", "O", "S"} | HALOGENS):
        return "other elements"
    if elements & HALOGENS:
        return "halogenated"
    names = {name for name, smarts in GROUPS.items() if made.HasSubstructMatch(pattern(smarts))}
    return _hydrocarbon(made) if elements <= {"C", "H"} else _functional(made, names)


def _hydrocarbon(made: Chem.Mol) -> str:
    if any(atom.GetIsAromatic() for atom in made.GetAtoms()):
        return "aromatic hydrocarbon"
    if made.HasSubstructMatch(pattern("C#C")):
        return "alkyne"
    if made.HasSubstructMatch(pattern("C=C")):
        return "alkene"
    return "cycloalkane" if made.GetRingInfo().NumRings() else "alkane"


def _functional(made: Chem.Mol, names: set[str]) -> str:
    if names == {"alcohol", "ether"}:
        return "glycol ether"
    if len(names) != 1:
        return "several groups" if names else "other groups"
    (name,) = names
    aromatic = any(atom.GetIsAromatic() for atom in made.GetAtoms())
    if name == "alcohol" and len(made.GetSubstructMatches(pattern(GROUPS["alcohol"]))) > 1:
        return "glycol"
    if name == "amine" and made.HasSubstructMatch(pattern("[NX3]c")):
        return "aromatic amine"
    return name if not aromatic or name in ("phenol", "pyridine") else f"aromatic {name}"
