"""A painted page outside the terminal: its layers, its plates for the press, and its proof.

painting    which recipe each pixel of a page has
screening   where the dots of each ink stand
layers      as OpenRaster or PNG, a layer an ink, to go on with in a drawing program
press       as plates, black where ink goes
proof       as it is expected to print
order       which of these are drawn, where and how
"""
