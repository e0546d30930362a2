"""The worktable: a page on this machine that makes plates by looking and choosing.

wishes/    what a person may want: settings, the form made of them, proofs, files, strokes by hand
work/      worker processes and what they do: plates, packs, pages, colours; jobs: in which order
store/     projects on the disk: settings with their history, plates, packs; our own pictures to try
web/       addresses, a module for each place; who may ask; the pages; the door for phones
table      these together: what is begun when a page asks
figures    the same for figures; figure_faces: their faces by hand
shown      what a page is told of a project
estimate   what a plate of other settings would take, before it is made
beads      what the place of the beads shows: colours, what is owned, missing and to buy
card       a palette from a photo of beads
sheets     pages of a pack, drawn when they are asked for
shares     links for phones: begun, ended, found
ticks      what is placed of a plate that is followed on a phone
"""
