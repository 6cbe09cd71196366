"""python -m benchmarks.quality --seeds 101,102 --vessels 26: detection on made-up fleets."""

import argparse

from benchmarks.quality import fleets, score
from sevenppb.synthetic.simulation import FleetPlan


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seeds", default="101,102")
    parser.add_argument("--vessels", type=int, default=26)
    parser.add_argument("--healthy", type=int, default=4)
    asked = parser.parse_args()
    seeds = tuple(int(text) for text in asked.seeds.split(","))
    for title, roles in (("every instrument", "all"), ("drawn instruments", None)):
        plan = FleetPlan(vessels=asked.vessels, healthy=asked.healthy, roles=roles)
        results = fleets.judged(plan, seeds)
        rate = score.false_rate(results)
        print(f"\n{title}\n{score.table(results).to_string()}")
        print(
            f"false: {rate.number} in {rate.vessel_years:.1f} healthy vessel-years; "
            f"beside faults {rate.beside}"
        )
        print(f"sizes in their interval: {score.magnitude_coverage(results)}; {score.onset_errors(results)}")
        print(score.reliability(results).to_string())


if __name__ == "__main__":
    main()
