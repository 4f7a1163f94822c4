"""Two examples of the Guide to the Expression of Uncertainty in Measurement (JCGM 100:2008), and Student's t."""

import numpy as np
from scipy import stats

# Example 4.4.3, table 1: twenty readings in degrees Celsius.
READINGS = [
    96.90, 98.18, 98.25, 98.61, 99.03, 99.49, 99.56, 99.74, 99.89, 100.07,
    100.33, 100.42, 100.68, 100.95, 101.11, 101.20, 101.57, 101.84, 102.36, 102.72,
]
# Annex H.3, table H.6: thermometer reading in degrees Celsius, less 20, and its correction.
X = [21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511]
Y = [-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160]

PROBABILITIES = [0.9, 0.95, 0.975, 0.977, 0.99, 1 - 0.023 / 2, 1 - 0.023 / 3, 0.995, 1 - 0.01 / 30, 1 - 0.01 / (90 * 3)]
DEGREES_OF_FREEDOM = [1, 2, 3, 5, 7, 10, 11, 12, 20, 30, 49, 99, 199, 799]


def mean_of_readings():
    readings = np.array(READINGS)
    deviation = readings.std(ddof=1)
    return {
        "readings": READINGS,
        "mean": float(readings.mean()),
        "standard_deviation": float(deviation),
        "standard_uncertainty": float(deviation / np.sqrt(len(readings))),
    }


def straight_line():
    x, y = np.array(X) - 20.0, np.array(Y)
    columns = np.column_stack([np.ones_like(x), x])
    coefficients, residual, _, _ = np.linalg.lstsq(columns, y, rcond=None)
    variance = residual[0] / (len(x) - 2)
    covariance = variance * np.linalg.inv(columns.T @ columns)
    uncertainties = np.sqrt(np.diag(covariance))
    return {
        "x_less_20": [round(value - 20.0, 3) for value in X],
        "y": Y,
        "intercept": float(coefficients[0]),
        "u_intercept": float(uncertainties[0]),
        "slope": float(coefficients[1]),
        "u_slope": float(uncertainties[1]),
        "correlation": float(covariance[0, 1] / uncertainties.prod()),
        "residual_standard_deviation": float(np.sqrt(variance)),
    }


def student_rows():
    yield ["probability", "degrees_of_freedom", "quantile"]
    for probability in PROBABILITIES:
        for freedom in DEGREES_OF_FREEDOM:
            yield [probability, freedom, float(stats.t.ppf(probability, freedom))]


VECTORS = {
    "gum.json": lambda: {"example_4_4_3": mean_of_readings(), "annex_h_3": straight_line()},
    "student_t.csv": lambda: list(student_rows()),
}


def checks():
    mean, line = mean_of_readings(), straight_line()
    for key, printed, half_digit in [
        ("mean", 100.145, 0.0005),
        ("standard_deviation", 1.489, 0.0005),
        ("standard_uncertainty", 0.333, 0.0005),
    ]:
        yield f"{key} (JCGM 100:2008, 4.4.3)", mean[key], printed, half_digit
    for key, printed, half_digit in [
        ("intercept", -0.1712, 0.00005),
        ("u_intercept", 0.0029, 0.00005),
        ("slope", 0.00218, 0.000005),
        ("u_slope", 0.00067, 0.000005),
        ("correlation", -0.930, 0.0005),
        ("residual_standard_deviation", 0.0035, 0.00005),
    ]:
        yield f"{key} (JCGM 100:2008, annex H.3)", line[key], printed, half_digit
    # One degree of freedom is the Cauchy distribution: its quantile is tan(pi (p - 1/2)).
    yield "Student's t with one degree of freedom (Cauchy distribution)", stats.t.ppf(0.975, 1), np.tan(np.pi * 0.475), 1e-9
