"""Writes tests/data/student.csv: factors of Student's distribution, two-sided.

They are computed by scipy 1.17.1, which shares no code with the program:

    python3 -m venv env && env/bin/pip install scipy==1.17.1
    env/bin/python tests/reference/student.py > tests/data/student.csv
"""

from scipy import stats

# The probabilities within two and within three standard deviations of a normal distribution.
WITHIN = ("0.954499736103642", "0.99730020393674")
# Every whole number at first, then ten to the decade up to 1e12.
FREEDOM = [*range(1, 101), *(round(10 ** (tenth / 10)) for tenth in range(21, 121))]
# Around the number at which the program changes its method.
FREEDOM = sorted({*FREEDOM, *range(490, 511)})

print("probability,nu,factor")
for probability in WITHIN:
    for nu in FREEDOM:
        tail = (1 - float(probability)) / 2
        print(f"{probability},{nu},{float(stats.t.isf(tail, nu))!r}")
