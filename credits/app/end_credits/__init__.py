"""The end credits as they are asked about: proofs, reasons, causes, speeds, a first plan."""
