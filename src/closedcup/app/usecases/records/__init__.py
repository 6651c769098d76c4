"""The records themselves: checked, told as history, backed up, moved, exported, handed over."""
