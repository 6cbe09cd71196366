"""Every threshold and budget, with its meaning: the only home of defaults."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Settings:
    """Budgets and thresholds of a scan; frozen, and printed in every report.

    false_alarms         false incidents allowed per vessel-year over everything tested
    baseline_days        length of the baseline where the fleet file gives none: the first days with steady running
    min_baseline_days    steady days below which a baseline is refused (the vessel is `too-little-data`)
    min_hours_per_day    steady hours that make a day count; of a reading sampled by hand, half of its usual samples do
    settle_hours         hours cut after a start-up
    min_load             share of the usual load below which the vessel counts as standing
    max_load_move        hour-to-hour load move, as a share of the usual load, above which an hour is not steady
    cusum_reference      the reference value k of every CUSUM, in standard errors of one day
    ewma_weight          the weight lambda of every EWMA
    relearn_days         days after an alarm, while its level is learned: only one begun a week on raises another
    stuck_days           days a reading must stand still while the vessel moves before it is an incident
    discrepancy          relative standard error granted to each entry of a cause's signature (plants differ)
    """

    false_alarms: float = 0.1
    baseline_days: int = 120
    min_baseline_days: int = 30
    min_hours_per_day: int = 4
    settle_hours: int = 6
    min_load: float = 0.2
    max_load_move: float = 0.12
    cusum_reference: float = 0.25
    ewma_weight: float = 0.05
    relearn_days: int = 21
    stuck_days: float = 5.0
    discrepancy: float = 0.5


DEFAULTS = Settings()
