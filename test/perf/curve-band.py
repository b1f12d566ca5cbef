"""Largest |t| over every re-deal of 6 + 6 runs, 30 channels of 200 points, as matrix products; prints JSON."""
import itertools, json, sys, time
import numpy as np

curves = np.array(json.load(sys.stdin)["curves"])  # runs × places
n = len(curves)
deals = np.array([[1.0 if i in chosen else 0.0 for i in range(n)] for chosen in itertools.combinations(range(n), n // 2)])


def largest():
    centred = curves - curves.mean(axis=0)
    label = deals - 0.5
    square = n / 4
    slope = label @ centred / square  # deals × places
    total = (centred**2).sum(axis=0)
    left = np.maximum(total - slope**2 * square, 0)
    t = np.abs(slope) / np.sqrt(left / (n - 2) / square)
    channels = t.reshape(len(deals), 30, 200)
    return channels.max(axis=2)  # deals × channels


times = []
for _ in range(9):
    start = time.perf_counter()
    found = largest()
    times.append(1000 * (time.perf_counter() - start))
json.dump({"numpy": np.__version__, "best_ms": min(times), "median_ms": sorted(times)[4],
           "sorted": [sorted(found[:, c].tolist())[-5:] for c in range(30)]}, sys.stdout)
