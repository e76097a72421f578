#!/usr/bin/python3
"""Places on the Sun's disc by SunPy, for fixtures/reference/spot_places.csv.

    /usr/bin/python3 tests/spot_places.py 50 > fixtures/reference/spot_places.csv

Needs the Debian package python3-sunpy. Random instants 1950-2100 and places up to 75 degrees from
the disc's centre, seen from the centre of the Earth: heliographic Carrington to helioprojective.
SunPy's longitudes are without stellar aberration, and light is counted from the Sun's nearest
point; its L0 comes a second time as the Astronomical Almanac prints it, with aberration and with
light counted from the Sun's centre.
"""
import random
import sys
import warnings

warnings.simplefilter("ignore")  # years for which the Earth's turning is not tabulated

import astropy.units as u
import sunpy
from astropy.coordinates import SkyCoord
from astropy.time import Time
from astropy.utils import iers
from sunpy.coordinates import HeliographicCarrington, Helioprojective, get_earth, sun

iers.conf.auto_download = False
iers.conf.iers_degraded_accuracy = "warn"
MOST_FROM_CENTRE_DEG = 75.0


def row(chance):
    time = Time(chance.uniform(2433283.0, 2488434.0), format="jd", scale="utc")
    time.format, time.precision = "isot", 0
    time = Time(time.isot, scale="utc")
    earth = get_earth(time)
    while True:
        lat, lon = chance.uniform(-70, 70), chance.uniform(0, 360)
        place = SkyCoord(lon * u.deg, lat * u.deg, 695700 * u.km, observer=earth, obstime=time,
                         frame=HeliographicCarrington)
        stonyhurst = place.heliographic_stonyhurst.cartesian.xyz
        towards = earth.cartesian.xyz
        cosine = (stonyhurst @ towards) / place.radius / earth.radius
        if cosine.to_value(u.one) > 0.2588:  # the cosine of MOST_FROM_CENTRE_DEG
            break
    seen = place.transform_to(Helioprojective(observer=earth, obstime=time))
    radius = sun.angular_radius(time)
    almanac = sun.L0(time, nearest_point=False, aberration_correction=True)
    return (f"{time.isot},{sun.P(time).deg:.6f},{sun.B0(time).deg:.6f},{sun.L0(time).deg:.6f},"
            f"{almanac.deg:.6f},{radius.arcsec:.4f},{lat:.6f},{lon:.6f},"
            f"{seen.Tx.to_value(u.arcsec):.4f},{seen.Ty.to_value(u.arcsec):.4f}")


def main():
    if len(sys.argv) != 2:
        sys.exit(__doc__)
    chance = random.Random(1990)
    print(f"# SunPy {sunpy.__version__} by tests/spot_places.py; seen from the Earth's centre,"
          " Sun's radius 695700 km;\n# west, north: from the disc's centre along the Sun's own axes;"
          " l0_almanac: as the Astronomical Almanac has it")
    print("utc,p_deg,b0_deg,l0_deg,l0_almanac_deg,radius_arcsec,latitude_deg,carrington_deg,"
          "west_arcsec,north_arcsec")
    for _ in range(int(sys.argv[1])):
        print(row(chance))


if __name__ == "__main__":
    main()
