"""The probability of a fit, against SciPy's own distributions and integration, on random fits.

What is meant: the clearance is bore less shaft. A measured size is about the middle of its readings
with a normal error of standard deviation U / 2; the spread of its readings (its form) is there at
once, so it narrows the window by half at either end. A size known by its limits alone is uniform
over them. The probability is that the clearance, at both extremes, is inside the window.
"""

import math
import random

import pytest
from scipy import integrate, stats

FITS = 1_000
SEED = 20_260_311
RELATIVE = 1e-9
ABSOLUTE = 1e-12
# Beyond so many standard deviations of a corner the integrand is smooth to the last digit.
CORNER_SIGMAS = (-9, -4, 0, 4, 9)


class Size:
    """One side of a fit in whole nanometres: measured if it has an uncertainty, else toleranced."""

    def __init__(self, low, high, uncertainty=None):
        self.low, self.high, self.uncertainty = low, high, uncertainty

    @property
    def form(self):
        return 0 if self.uncertainty is None else self.high - self.low

    @property
    def half_width(self):
        return 0 if self.uncertainty is not None else (self.high - self.low) / 2

    @property
    def sigma(self):
        return 0 if self.uncertainty is None else self.uncertainty / 2

    @property
    def spread(self):
        """About how far the size may be off, to place a window where it matters."""
        return self.sigma + self.half_width

    def on_the_wire(self, shop):
        low, high = millimetres(shop, self.low), millimetres(shop, self.high)
        if self.uncertainty is None:
            limits = shop.message("SizeRange", lower=low, upper=high)
            return shop.message("SizeKnowledge", limits=limits)
        measured = shop.message("MeasuredSize", min=low, max=high,
                                expanded_uncertainty=millimetres(shop, self.uncertainty))
        return shop.message("SizeKnowledge", measured=measured)


def millimetres(shop, nanometres):
    """Whole nanometres as exact decimal text."""
    sign = "-" if nanometres < 0 else ""
    whole, rest = divmod(abs(nanometres), 1_000_000)
    return shop.length(f"{sign}{whole}.{rest:06}", "LENGTH_UNIT_MM")


def log_uniform(chance, least, most):
    return round(math.exp(chance.uniform(math.log(least), math.log(most))))


def random_size(chance, near, measured):
    low = near + chance.randint(-40_000, 40_000)
    if measured:
        form = chance.choice([0, 0, log_uniform(chance, 1, 20_000)])
        return Size(low, low + form, log_uniform(chance, 2, 60_000))
    return Size(low, low + log_uniform(chance, 2, 60_000))


def random_fit(chance, measured):
    """A bore, a shaft and a window about the clearance that they give."""
    near = chance.randint(3_000_000, 400_000_000)
    bore, shaft = (random_size(chance, near, is_measured) for is_measured in measured)
    middle = (bore.low + bore.high - shaft.low - shaft.high) // 2
    # A share of the windows is so far off that only a tail is inside, or only a tail outside.
    spread, form = math.hypot(bore.spread, shaft.spread), bore.form + shaft.form
    reach = chance.choice([0.5, 1.5, 3, 6])
    ends = sorted(round(chance.uniform(-reach, reach) * spread) for _ in range(2))
    return bore, shaft, (middle + ends[0] - form // 2, middle + ends[1] + form // 2)


def random_fits():
    chance = random.Random(SEED)
    kinds = [(True, True), (True, False), (False, True), (False, False)]
    return [random_fit(chance, kinds[number % len(kinds)]) for number in range(FITS)]


def between(distribution, low, high):
    """P(low <= X <= high), from whichever tails are the small ones."""
    if low > distribution.median():
        return distribution.sf(low) - distribution.sf(high)
    if high < distribution.median():
        return distribution.cdf(high) - distribution.cdf(low)
    return 1 - distribution.cdf(low) - distribution.sf(high)


def by_scipy(bore, shaft, window):
    """The probability by SciPy alone: two normals, a normal and a uniform, or two uniforms."""
    middle = (bore.low + bore.high - shaft.low - shaft.high) / 2
    form = (bore.form + shaft.form) / 2
    low, high = window[0] + form - middle, window[1] - form - middle
    if low > high:
        return 0.0
    sigma, wide = math.hypot(bore.sigma, shaft.sigma), max(bore.half_width, shaft.half_width)
    narrow = min(bore.half_width, shaft.half_width)
    if not wide:
        return between(stats.norm(0, sigma), low, high)
    if not sigma:
        # The sum of two uniforms is a trapezoid: rising, flat, falling.
        reach = wide + narrow
        rise, fall = narrow / reach, wide / reach
        return between(stats.trapezoid(rise, fall, loc=-reach, scale=2 * reach), low, high)
    return normal_and_uniform(sigma, wide, low, high)


def normal_and_uniform(sigma, wide, low, high):
    """The normal's share of the window, averaged over the uniform by adaptive integration."""
    normal = stats.norm(0, sigma)
    corners = {end + k * sigma for end in (low, high) for k in CORNER_SIGMAS}
    inside = sorted(corner for corner in corners if -wide < corner < wide)
    total = 0.0
    for start, end in zip([-wide, *inside], [*inside, wide]):
        part, _ = integrate.quad(lambda at: between(normal, low - at, high - at), start, end,
                                 epsabs=1e-15 * wide, epsrel=1e-12, limit=200)
        total += part
    return total / (2 * wide)


def question(shop, bore, shaft, window):
    clearance = shop.message("ClearanceLimits", min=millimetres(shop, window[0]),
                             max=millimetres(shop, window[1]))
    return shop.message("JudgeFitRequest", internal=bore.on_the_wire(shop),
                        external=shaft.on_the_wire(shop),
                        requirement=shop.message("FitRequirement", clearance=clearance))


def agrees(found, wanted):
    return abs(found - wanted) <= max(ABSOLUTE, RELATIVE * abs(wanted))


@pytest.mark.filterwarnings("error::scipy.integrate.IntegrationWarning")
def test_random_fits_have_the_probability_that_scipy_gives(shop):
    fits = random_fits()
    questions = [question(shop, *fit) for fit in fits]
    answers = shop.call("FitsService", "BatchJudgeFits", questions=questions).answers
    assert len(answers) == FITS
    assert [answer.problem for answer in answers if answer.problem] == []
    found = [answer.fit.verdict.probability_in for answer in answers]
    wanted = [by_scipy(*fit) for fit in fits]
    wrong = [f"{number}: {one} is not {other} (off {one - other:.2e})"
             for number, (one, other) in enumerate(zip(found, wanted)) if not agrees(one, other)]
    assert not wrong, f"{len(wrong)} of {FITS}:\n" + "\n".join(wrong[:20])
    # Neither all certain nor all middling: the middle and both tails are there.
    assert sum(0.05 < chance < 0.95 for chance in wanted) > FITS // 4
    assert sum(0 < chance <= 0.05 for chance in wanted) > 20
    assert sum(0.95 <= chance < 1 for chance in wanted) > 20


def test_one_at_a_time_gives_the_same_as_many_at_once(shop):
    questions = [question(shop, *fit) for fit in random_fits()[:40]]
    many = shop.call("FitsService", "BatchJudgeFits", questions=questions).answers
    for one, among_many in zip(questions, many):
        fields = {field.name: value for field, value in one.ListFields()}
        assert shop.call("FitsService", "JudgeFit", **fields) == among_many.fit


def test_another_meaning_of_the_uncertainty_would_be_noticed():
    """The comparison is sharp: with U itself as the standard deviation nearly every fit differs."""
    measured = [fit for fit in random_fits() if fit[0].uncertainty and fit[1].uncertainty]
    doubled = [(Size(bore.low, bore.high, 2 * bore.uncertainty), shaft, window)
               for bore, shaft, window in measured]
    differs = [not agrees(by_scipy(*one), by_scipy(*other)) for one, other in zip(measured, doubled)]
    assert sum(differs) > len(differs) * 0.7
