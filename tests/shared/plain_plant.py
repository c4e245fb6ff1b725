"""The same plant as plain Python, one run at a time: written anew from the equations, without numpy."""

from __future__ import annotations

from dataclasses import dataclass, field

STEP_H = 1 / 12


@dataclass
class PlainRun:
    """What came of it: energies of each day Wh, hours, starts, fuel, and when it was gone."""

    books: list = field(default_factory=list)
    soc: list = field(default_factory=list)
    hours: float = 0.0
    starts: int = 0
    burnt: float = 0.0
    lasted: float = float("inf")


def plain_run(plant, rows, rule, *, start_soc, quiet=None, fuel_factor=1.0):
    """rows: one list of 288 (load, dc_load, sun_dc, sun_ac) per day; quiet: (from, until) hours or None."""
    made = PlainRun()
    stored = plant.battery.capacity_wh * start_soc / 100
    drift, on = 0.0, False
    for number, day in enumerate(rows):
        book = dict.fromkeys(("generator", "solar", "demand", "unserved", "cut", "lost"), 0.0)
        before = stored
        for slot, (load, dc_load, sun_dc, sun_ac) in enumerate(day):
            if slot % 12 == 0:
                made.soc.append(100 * stored / plant.battery.capacity_wh)
            was, on = (
                on,
                decided(rule, quiet, slot, on, 100 * (stored + drift / 2) / plant.battery.capacity_wh),
            )
            flow = moment(plant, rule, stored, on, load, dc_load, sun_dc, sun_ac)
            for name in book:
                book[name] += flow[name] * STEP_H
            drift = flow["change"] * STEP_H
            stored += drift
            hours = on * STEP_H + (on and not was) * plant.generator.unloaded_s / 3600
            curve = plant.generator.curve
            wanted = (curve.idle * hours + curve.per_kwh * flow["generator"] / 1000 * STEP_H) * fuel_factor
            if made.burnt < plant.generator.store <= made.burnt + wanted:
                made.lasted = number + (slot + (plant.generator.store - made.burnt) / wanted) / 288
            made.burnt += wanted
            made.hours += hours
            made.starts += on and not was
        made.books.append(book | {"change": stored - before})
    return made


def decided(rule, quiet, slot, on, level):
    hour = (slot + 0.5) / 12
    if quiet is not None and inside(hour, *quiet):
        return False
    if on:
        return level < min(rule.stop_soc, 99.9)
    start = rule.start_soc
    if rule.run is not None and inside(hour, rule.run.start, rule.run.until):
        start = max(start, rule.run_below)
    return level <= start


def inside(hour, begin, end):
    return begin <= hour < end if begin < end else hour >= begin or hour < end


def dc_of(converter, ac):
    """What leaves the converter on the DC side; negative while it inverts."""
    if ac >= 0:
        return ac - converter.idle_w - converter.slope * ac
    # Inverting, the DC side feeds it: dc = ac + idle + slope · dc.
    return -(-ac + converter.idle_w) / (1 - converter.slope)


def moment(plant, rule, stored, on, load, dc_load, sun_dc, sun_ac):
    """One step's mean powers, W."""
    battery = plant.battery
    missing = battery.capacity_wh - stored
    taper_wh = battery.capacity_wh * (100 - battery.taper_soc) / 100
    willing = 1.0 if taper_wh == 0 else min(1.0, missing / taper_wh)
    keeps = battery.efficiency_full + (battery.efficiency - battery.efficiency_full) * willing
    takes = min(battery.charge_w * max(willing, battery.least_share), max(missing, 0.0) / keeps / STEP_H)
    gives = max(0.0, stored - battery.capacity_wh * battery.reserve_soc / 100) / STEP_H
    if on:
        return running(plant, rule, keeps, takes, gives, load, dc_load, sun_dc, sun_ac)
    return alone(plant, keeps, takes, gives, load, dc_load, sun_dc, sun_ac)


def running(plant, rule, keeps, takes, gives, load, dc_load, sun_dc, sun_ac):
    converter, rated = plant.converter, plant.generator.rated_w
    standby = converter.idle_w / (1 - converter.slope)
    limit = min(rule.limit_a * plant.generator.w_per_a, rated)
    dc_wanted = min(takes + dc_load - sun_dc, converter.charger_dc_w)
    ac_wanted = min((dc_wanted + converter.idle_w) / (1 - converter.slope), converter.charger_ac_w)
    ac = max(standby, min(limit - load + sun_ac, ac_wanted))
    bus = load - sun_ac + ac
    generator = min(max(bus, 0.0), rated)
    unserved, cut = max(bus - generator, 0.0), max(generator - bus, 0.0)
    dc = dc_of(converter, ac)
    net = sun_dc + dc - dc_load
    into, out, lost = 0.0, 0.0, ac - dc
    if net >= 0:
        into = min(net, takes)
        cut += net - into
    else:
        out = min(-net, gives)
        unserved += -net - out
    return summed(generator, unserved, cut, lost, keeps, into, out, load + dc_load, sun_dc + sun_ac)


def alone(plant, keeps, takes, gives, load, dc_load, sun_dc, sun_ac):
    converter = plant.converter
    unserved, cut = 0.0, 0.0
    if sun_ac <= load:
        ac = -min(load - sun_ac, converter.inverter_w)
        unserved = load - sun_ac + ac
    else:
        ac = min(sun_ac - load, converter.charger_ac_w)
        cut = sun_ac - load - ac
    dc = dc_of(converter, ac)
    net = sun_dc + dc - dc_load
    if net >= 0:
        into = min(net, takes)
        over = net - into
        held = min(over, sun_dc)
        less = (over - held) / (1 - converter.slope)
        cut += held + less
        ac, dc = ac - less, dc - (over - held)
        return summed(0.0, unserved, cut, ac - dc, keeps, into, 0.0, load + dc_load, sun_dc + sun_ac)
    out = min(-net, gives)
    lit = out / -net
    dark = 1 - lit
    into = dark * min(sun_dc, takes)
    cut = lit * cut + dark * (sun_ac + sun_dc) - into
    unserved = lit * unserved + dark * (load + dc_load)
    return summed(0.0, unserved, cut, lit * (ac - dc), keeps, into, out, load + dc_load, sun_dc + sun_ac)


def summed(generator, unserved, cut, lost, keeps, into, out, demand, solar):
    return {
        "generator": generator,
        "unserved": unserved,
        "cut": cut,
        "lost": lost + (1 - keeps) * into,
        "change": keeps * into - out,
        "demand": demand,
        "solar": solar,
    }
