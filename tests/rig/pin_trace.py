"""The rig's trace of the pins (IEEE 1364), read with `pyvcd`: for judges that share no code with what they judge."""

from vcd.reader import TokenKind, tokenize


def changes(trace) -> dict[str, list[tuple[int, int]]]:
    """Each signal's changes: time in ns and level."""
    names, found, now, begun = {}, {}, 0, False
    with open(trace, "rb") as file:
        for token in tokenize(file):
            if token.kind is TokenKind.VAR:
                names[token.var.id_code] = token.var.reference
                found[token.var.reference] = []
            elif token.kind is TokenKind.CHANGE_TIME:
                now = token.time_change
                begun = begun or now > 0
            elif token.kind is TokenKind.CHANGE_SCALAR and begun:
                change = token.scalar_change
                found[names[change.id_code]].append((now, int(change.value)))
    return found


def pulses(signal: list[tuple[int, int]]) -> list[tuple[int, int]]:
    """Every high pulse of a signal, from its rise to its fall in ns: for the coil, its dwells."""
    found, rise = [], None
    for now, level in signal:
        if level:
            rise = now
        elif rise is not None:
            found.append((rise, now))
            rise = None
    return found
