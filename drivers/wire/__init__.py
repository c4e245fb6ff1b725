"""The simulated plant on the wire: a Modbus server and a serial port that say what its meters say.

`live` runs a plant and reads its meters as time goes by; `pace` keeps it in step with the clock. `sunspec` and
`plain` lay readings out as registers, `server` answers for them over Modbus TCP; `printing` makes lines of text
and `port` sends them. `faults` are what may be ordered to go wrong on the way.
"""
