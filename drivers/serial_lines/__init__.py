"""Lines of text on a serial port: values with a delimiter, `name=value` pairs, or JSON objects.

`sheet` is the TOML map from a line to channels; `framing` cuts bytes into lines, `decoding` makes readings of a
line or refuses it, `rows` puts readings together into rows, `source` does all of it as a live source.
"""
