"""A spirit run with a partial condenser by scipy's DOP853 over time: the equations of the still's
page, three cuts, four congeners, relative tolerance 1e-8.

Prints seconds a run, then the first strength, the end of the heart, the heart's pure alcohol and
strength, and the end of the feints.
"""
import math
import time

from scipy.integrate import solve_ivp
from scipy.optimize import brentq

P, Q, UA, AMB = 101325.0, 250e3, 600.0, 293.15
A_OIML = [9.982012300e2, -1.929769495e2, 3.891238958e2, -1.668103923e3, 1.352215441e4,
          -8.829278388e4, 3.062874042e5, -6.138381234e5, 7.470172998e5, -5.478461354e5,
          2.234460334e5, -3.903285426e4]
K = [(2.0809, -6.36685, 15.44011, -24.54249, 15.58765),
     (4.98293, -10.54611, 15.18639, -25.58028, 18.45009),
     (3.47339, -13.63221, 20.49849, -35.20104, 24.49),
     (0.66197, -15.90758, 24.16666, -35.177, 23.67597)]
CE = (102640.0, -139.63, -0.030341, 0.0020386, 0.0)
CW = (276370.0, -2090.1, 8.125, -0.014116, 9.3701e-6)


def density(w):
    return sum(a * w**i for i, a in enumerate(A_OIML))


def strength(x):
    w = x * 46.06844 / (x * 46.06844 + (1 - x) * 18.01528)
    return 100 * w * density(w) / density(1.0)


def pressures(t):
    z = 1 - t / 513.92
    e = 6132000 * math.exp((-8.68587 * z + 1.17831 * z**1.5 - 4.8762 * z**2.5 + 1.588 * z**5)
                           / (1 - z))
    z = 1 - t / 647.096
    w = 22.064e6 * math.exp(647.096 / t * (
        -7.85951783 * z + 1.84408259 * z**1.5 - 11.7866497 * z**3 + 22.6807411 * z**3.5
        - 15.9618719 * z**4 + 1.80122502 * z**7.5))
    return e, w


def partial(x, t):
    t12, t21 = -1.16337 + 367.339 / t, 4.13606 - 814.560 / t
    g12, g21 = math.exp(-0.3 * t12), math.exp(-0.3 * t21)
    d1, d2 = x + (1 - x) * g21, 1 - x + x * g12
    l1 = (1 - x)**2 * (t21 * (g21 / d1)**2 + t12 * g12 / d2**2)
    l2 = x**2 * (t12 * (g12 / d2)**2 + t21 * g21 / d1**2)
    e, w = pressures(t)
    return x * math.exp(l1) * e, (1 - x) * math.exp(l2) * w


def bubble(x):
    t = brentq(lambda t: sum(partial(x, t)) - P, 320, 385, xtol=1e-10)
    return t, partial(x, t)[0] / P


def above(c, t):
    return 1e-3 * sum(ci / (i + 1) * (t**(i + 1) - 273.15**(i + 1)) for i, ci in enumerate(c))


def liquid(x, t):
    return x * above(CE, t) + (1 - x) * above(CW, t)


def vapour(y, t):
    r = t / 647.096
    return liquid(y, t) + y * 55789 * (1 - t / 514.0)**0.31245 + (1 - y) * 52053 * (1 - r)**(
        0.3199 - 0.212 * r + 0.25795 * r * r)


def leaving(x):
    t, y = bubble(x)
    step = 1e-5 * max(x, 1e-3)
    h = liquid(x, t)
    slope = (liquid(x + step, bubble(x + step)[0]) - liquid(x - step, bubble(x - step)[0])) / (
        2 * step)
    rising = vapour(y, t)

    def miss(s):
        xr = x + s * (y - x)
        top, yd = bubble(xr)
        psi = (yd - y) / (yd - xr)
        lost = UA * (top - AMB)
        d = (Q - lost) / (vapour(yd, top) - h - (yd - x) * slope)
        taken = rising - psi * liquid(xr, top) - (1 - psi) * vapour(yd, top)
        return d * taken - (1 - psi) * lost, yd, psi, d, xr

    high = 1e-3
    while miss(high)[0] < 0:
        high *= 2
    s = brentq(lambda s: miss(s)[0], 0.0, high, xtol=1e-13)
    return miss(s)[1:]


def volatility(c, x):
    u = x / (x + 0.5)
    return math.exp(c[0] + u * (c[1] + u * (c[2] + u * (c[3] + u * c[4]))))


def slope(_, s):
    x = s[0] / (s[0] + s[1])
    yd, psi, d, xr = leaving(x)
    v = d / (1 - psi)
    congeners = [-v * volatility(c, x) / (s[0] + s[1]) / (d + psi * v / volatility(c, xr)) * d
                 for c in K]
    return [-d * yd, -d * (1 - yd)] + congeners


def falls_to(percent):
    def event(_, s):
        return strength(leaving(s[0] / (s[0] + s[1]))[0]) - percent
    event.terminal = True
    return event


def run():
    state = [33500.0, 284000.0, 0.0, 0.0, 0.0, 0.0]
    at = dict(method="DOP853", rtol=1e-8, atol=1e-8)
    first = strength(leaving(state[0] / sum(state[:2]))[0])
    fore = solve_ivp(slope, (0, 1200), state, **at)
    heart = solve_ivp(slope, (1200, 1e6), fore.y[:, -1], events=falls_to(62.0), **at)
    feints = solve_ivp(slope, (heart.t[-1], 1e6), heart.y[:, -1], events=falls_to(1.0), **at)
    e, w = fore.y[0, -1] - heart.y[0, -1], fore.y[1, -1] - heart.y[1, -1]
    litres = e * 46.06844 / density(1.0)
    return [first, heart.t[-1], litres, strength(e / (e + w)), feints.t[-1]]


start = time.perf_counter()
answers = run()
print(time.perf_counter() - start)
for answer in answers:
    print(answer)
