"""The line: passage in, study book out. Each step is a pure function of the values before it."""

from __future__ import annotations
