"""What readings say of deaerators: `fleet.read_fleet` and `fleet_scan.scan_fleet` for a whole fleet, `exports.read` and
`scan.scan_vessel` for one vessel. docs/python.md shows them, and the steps between. Import the modules: nothing is
imported from here."""
