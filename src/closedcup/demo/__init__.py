"""An invented laboratory that shows the main job. Its data stay in this folder."""

from closedcup.demo.run import run_demo

__all__ = ["run_demo"]
