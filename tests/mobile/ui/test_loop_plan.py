from itertools import combinations

import pytest

from logic.vehicle.points import Point, Post
from mobile.ui.widgets.loop_plan import POST, TOUCH, LoopPlan, lay_out, least_height
from mobile.ui.widgets.rect import Rect

SIZES = [
    (width, height, solar)
    for width in (360.0, 380.0, 412.0, 600.0, 900.0)
    for height in (300.0, 376.0, 432.0, 560.0, 700.0)
    for solar in (False, True)
]


@pytest.fixture(params=SIZES, ids=str)
def plan(request: pytest.FixtureRequest) -> LoopPlan:
    return lay_out(*request.param)


def test_nothing_that_can_be_tapped_is_under_48_dp_or_over_another(plan):
    targets = list(plan.targets())
    assert all(t.rect.width >= TOUCH and t.rect.height >= TOUCH for t in targets)
    meeting = [(a.id, b.id) for a, b in combinations(targets, 2) if a.rect.meets(b.rect)]
    assert meeting == []


def test_every_text_has_a_slot_of_its_own_clear_of_the_posts(plan):
    slots = list(plan.slots())
    posts = [Rect.around(place, 2 * POST, 2 * POST) for place in plan.posts.values()]
    assert not any(a.meets(b) for a, b in combinations(slots, 2))
    assert not any(slot.meets(post) for slot in slots for post in posts)
    assert min(slot.height for slot in slots) >= 18
    assert min(slot.width for slot in slots) >= 44


def test_all_of_it_lies_inside_the_picture(plan):
    whole = Rect(0, 0, plan.width, plan.height)
    for rect in [*plan.slots(), *(target.rect for target in plan.targets())]:
        assert rect.x >= 0
        assert rect.y >= 0
        assert rect.right <= whole.right
        assert rect.top <= whole.top


def test_a_touch_on_the_middle_of_a_target_means_that_target(plan):
    for target in plan.targets():
        assert plan.target_at(target.rect.centre) == target


def test_every_voltage_and_clamp_of_the_circuit_can_be_reached_with_a_panel():
    plan = lay_out(360, least_height(True), True)
    assert set(plan.posts) == set(Post)
    clamped = {point.clamp_on for point in Point if point.clamp_on}
    assert set(plan.clamps) == clamped
