"""What was measured: the channel vocabulary, the recording store, CSV in and out, demo recordings.

    channels     the one vocabulary: names, units, and what a positive value means
    recording    the store: a growing table of rows in time order, one column per channel
    provenance   where a recording came from, and what was mended on the way in
    tables       reading tables of unknown make, and writing our own
    errors       everything that can go wrong for the user, as one small tree

Nothing here knows where telemetry comes from live, or what is made of it.
"""
