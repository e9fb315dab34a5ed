"""How many degree-days below a base temperature, from a few monthly numbers?

Three published routes and one closed form for a heater that runs out of power.
The season simulation is checked against them and they against each other.
Left out: sun and stored heat, so a season computed from degree-days is an
upper bound of the energy.

Units: °C, K, days, K d. sd = standard deviation.
"""

from __future__ import annotations

import math

from enclosure.checks.ranges import within


def normal_density(z: float) -> float:
    """Return the density of the standard normal distribution."""
    return math.exp(-0.5 * z * z) / math.sqrt(2.0 * math.pi)


def normal_share(z: float) -> float:
    """Return the share of a standard normal distribution below z."""
    return 0.5 * math.erfc(-z / math.sqrt(2.0))


def schoenau_kehrig(base_degc: float, mean_degc: float, sd_k: float, days: float) -> float:
    """Return the degree-days below a base for normally distributed temperatures [K d].

    Args:
        base_degc: Base temperature [°C].
        mean_degc: Mean of the month [°C].
        sd_k: Spread of the daily means about it [K], 0.01 to 20.
        days: Length of the month [days], 0 to 366.

    References:
        [Schoenau & Kehrig 1990] D = N s (z Phi(z) + phi(z)), z = (tb - tm) / s; the
        paper was not opened, the form is the mean of max(0, tb - T) for a normal T.
    """
    within("spread of the temperatures", sd_k, 0.01, 20.0, "K")
    within("number of days", days, 0.0, 366.0, "days")
    z = (base_degc - mean_degc) / sd_k
    return days * sd_k * (z * normal_share(z) + normal_density(z))


def hourly_sd(daily_sd_k: float, half_range_k: float) -> float:
    """Return the spread of hourly temperatures [K] from that of daily means and the daily swing.

    A sine of half range A has the variance A²/2, added to that of the daily means.
    """
    within("spread of daily means", daily_sd_k, 0.0, 20.0, "K")
    within("half of the daily range", half_range_k, 0.0, 20.0, "K")
    return math.sqrt(daily_sd_k**2 + half_range_k**2 / 2.0)


def erbs_monthly_sd(mean_degc: float, yearly_sd_k: float) -> float:
    """Return the spread of a month's mean over the years [K].

    Args:
        mean_degc: Mean of the month [°C].
        yearly_sd_k: Spread of the twelve monthly means about the mean of the year [K].

    References:
        [Erbs 1983] s_m = 1.45 - 0.0290 t_m + 0.0664 s_yr (from memory of the paper).
    """
    within("spread of the monthly means over the year", yearly_sd_k, 0.0, 25.0, "K")
    return 1.45 - 0.0290 * mean_degc + 0.0664 * yearly_sd_k


def erbs(base_degc: float, mean_degc: float, days: float, yearly_sd_k: float) -> float:
    """Return the degree-days below a base from monthly means alone [K d].

    The constant a = 1.698 stands alone; copies that print 1.698 sqrt(N) fail the
    check D(tb = tm) = 0.2041 s_m N^1.5.

    References:
        [Erbs 1983] D = s_m N^1.5 (h/2 + ln cosh(a h)/(2 a) + 0.2041), h = (tb - tm)/(s_m sqrt N).
    """
    within("number of days", days, 1.0, 31.0, "days")
    spread = erbs_monthly_sd(mean_degc, yearly_sd_k)
    within("spread of the month's mean", spread, 0.05, 20.0, "K")
    a = 1.698
    h = (base_degc - mean_degc) / (spread * math.sqrt(days))
    # ln cosh(x) = |x| + ln(1 + exp(-2|x|)) - ln 2 does not overflow.
    x = abs(a * h)
    ln_cosh = x + math.log1p(math.exp(-2.0 * x)) - math.log(2.0)
    return spread * math.pow(days, 1.5) * (h / 2.0 + ln_cosh / (2.0 * a) + 0.2041)


def daily_sd_from_erbs(mean_degc: float, yearly_sd_k: float, days: float) -> float:
    """Return the spread of daily means [K] that makes Erbs and Schoenau-Kehrig agree at tb = tm.

    0.2041 s_m N^1.5 = N s phi(0), hence s = 0.2041 s_m sqrt(N) / 0.39894.
    """
    within("number of days", days, 1.0, 31.0, "days")
    return 0.2041 * erbs_monthly_sd(mean_degc, yearly_sd_k) * math.sqrt(days) / normal_density(0.0)


def four_case(base_degc: float, least_degc: float, greatest_degc: float) -> float:
    """Return one day's degree-days below a base from its least and greatest temperature [K d].

    References:
        [Met Office] four-case rule as printed by the Irish meteorological service.
    """
    within("daily range", greatest_degc - least_degc, 0.0, 60.0, "K")
    mean = 0.5 * (least_degc + greatest_degc)
    if greatest_degc <= base_degc:
        return base_degc - mean
    if least_degc >= base_degc:
        return 0.0
    if mean < base_degc:
        return 0.5 * (base_degc - least_degc) - 0.25 * (greatest_degc - base_degc)
    return 0.25 * (base_degc - least_degc)


def capped_degree_days(
    base_degc: float, mean_degc: float, sd_k: float, days: float, greatest_rise_k: float
) -> float:
    """Return the degree-days that a heater with a greatest rise can serve [K d].

    The mean of min(rise, max(0, tb - T)) for a normal T: the degree-days below the
    base less those below the temperature at which the heater is at its limit.

    Args:
        greatest_rise_k: Rise that the heater can hold, power over conductance [K], >= 0.
        base_degc: Setpoint [°C].
        mean_degc: Mean of the month [°C].
        sd_k: Spread of the temperatures [K].
        days: Length of the month [days].

    References:
        [Schoenau & Kehrig 1990] applied twice.
    """
    within("greatest rise", greatest_rise_k, 0.0, 1000.0, "K")
    all_of_it = schoenau_kehrig(base_degc, mean_degc, sd_k, days)
    return all_of_it - schoenau_kehrig(base_degc - greatest_rise_k, mean_degc, sd_k, days)


def energy_kwh(degree_days_kd: float, conductance_w_k: float) -> float:
    """Return the heat [kWh] for degree-days [K d] at a conductance [W/K]."""
    within("conductance", conductance_w_k, 0.0, 10000.0, "W/K")
    return degree_days_kd * 24.0 * conductance_w_k / 1000.0


def yearly_sd(monthly_mean_degc: tuple[float, ...]) -> float:
    """Return the spread of the twelve monthly means about their mean [K] (population form)."""
    within("number of monthly means", len(monthly_mean_degc), 12, 12)
    mean = sum(monthly_mean_degc) / 12.0
    return math.sqrt(sum((value - mean) ** 2 for value in monthly_mean_degc) / 12.0)
