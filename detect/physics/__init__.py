"""Pure functions of arrays: steam, nozzle, sprays, heat, oxygen. No roles, vessels, settings or frames."""
