"""The parts of `tools/build_liquids.py`: one subject, one file."""
