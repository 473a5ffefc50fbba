"""Test gear: two flow meters a site, calibrated once a year; one calibration has lapsed."""

from datetime import date, timedelta

import msgspec

from seed.sites import SITES, Site

LAPSED_SITE = "saltreach"
LAPSED_DAYS = 30


class Calibration(msgspec.Struct, frozen=True):
    """One calibration of an instrument: the day it was done and the last day it holds."""

    instrument: str
    done: date
    due: date


def meter(site: Site, number: int) -> str:
    """Name a flow meter of a site."""
    return f"{site.code}-flow-{number}"


def calibrations(start: date, end: date) -> list[Calibration]:
    """List all calibrations in force between two days, instrument by instrument, oldest first.

    The second meter of one site was forgotten: its calibration ran out `LAPSED_DAYS` before the end.
    """
    found: list[Calibration] = []
    for place, site in enumerate(SITES):
        for number in (1, 2):
            done = start - timedelta(days=40 + 23 * place + 90 * number)
            if (site.ref, number) == (LAPSED_SITE, 2):
                done = end - timedelta(days=LAPSED_DAYS + 365)
                found.append(Calibration(meter(site, number), done, done + timedelta(days=365)))
                continue
            while done < end:
                found.append(Calibration(meter(site, number), done, done + timedelta(days=365)))
                done += timedelta(days=358)
    return found
