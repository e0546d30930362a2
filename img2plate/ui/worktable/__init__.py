"""The worktable: a page on this machine that makes plates by looking and choosing.

settings   the form, what was chosen in it, and the command line that says the same
proofs     which plates are proposed for a picture
tasks      what is done in a worker process: pictures read, plates and packs made
workers    the worker processes: started, limited, ended, started anew
estimate   what a plate of other settings would take, before it is made
cut        a made plate over boards: seams, tiles, rounds, counts, without making it anew
pages      sheets as pictures
jobs       what waits for a worker, and how far it is
projects   a folder for each picture: settings with their history, plates, packs
table      these together: what a page asks for
sheets     pages of a pack, drawn when they are asked for
ticks      what is placed of a plate that is followed on a phone
shares     links for phones: begun, ended, found
hub        pages hear how far things are
samples    our own pictures to try
guard      who may ask: host, origin, token
app        addresses of the page
phone      what a phone in the network may ask, an application of its own
beside     the door for phones, opened by --share alone
serve      the command's work: a port, a line with the address, an end
"""
