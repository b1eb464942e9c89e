"""What a passage is made of: stretches of line, broken chord, tremolo, block chord, and melody with bass.

The step between the fretting hand and the axes: it looks at a line that has a string for each note, and says what the
plucking hand meets there. Letters, studies and strokes follow from it.
"""

from engrave.textures.finding import found, textured
from engrave.textures.lookup import kind_of, leading, share, stretches

__all__ = ["found", "kind_of", "leading", "share", "stretches", "textured"]
