"""What good boards teach must never turn a right verdict into a wrong one."""

import pytest

from tests.physics.driver import Sight
from tests.physics.maps import load
from tests.physics.references import figures, runs


@pytest.mark.parametrize("name", ["a_usb2_device_port", "c_power_12v"])
def test_references_of_five_good_boards_name_no_wrong_part(name):
    """Every fifth fault; all of them by hand: python -m tests.physics.references. Narrowing the bands outright, without
    `shop.SUSPICION`, named a wrong part in 12 % of the runs of section c."""
    faults = list(load(name).section.faults)[::5]
    right, unsure, wrong, _ = figures(runs(name, Sight.SEES, taught=True, faults=faults))
    assert wrong == 0
    assert right + unsure == 1
    assert right >= 0.95
