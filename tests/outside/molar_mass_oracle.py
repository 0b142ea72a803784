#!/usr/bin/env python3
"""Molar masses from structures, by Open Babel (GPL-2; Debian's python3-openbabel), which knows nothing of our formulas.

    /usr/bin/python3 molar_mass_oracle.py MOLAR_MASS.json

One line a row that has a structure (SMILES): its id, a tab, grams per mole. Then one line an element: its symbol, a tab,
grams per mole.
"""
import json
import sys

try:
    from openbabel import openbabel
except ImportError:
    sys.exit("python3-openbabel is missing: apt-get install python3-openbabel")


def main():
    with open(sys.argv[1], encoding="utf-8") as file:
        rows = json.load(file)["rows"]
    reader = openbabel.OBConversion()
    reader.SetInFormat("smi")
    for row in rows:
        structure = row["inputs"]["smiles"]
        if structure is None:
            continue
        molecule = openbabel.OBMol()
        if not reader.ReadString(molecule, structure):
            sys.exit(f"{structure} is no structure")
        print(f"{row['id']}\t{molecule.GetMolWt():.6f}")
    for number in range(1, 95):
        print(f"{openbabel.GetSymbol(number)}\t{openbabel.GetMass(number):.6f}")


main()
