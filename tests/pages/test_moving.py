"""Wheel, drag, click, keys and fingers: moving about in the run."""

import pytest

from tests.pages.browser import Reader
from tests.pages.climbs import busy


def test_the_wheel_zooms_about_the_pointer(page: Reader) -> None:
    page.open(busy())
    page.point(0.25)
    before = page.slip()["time"]
    for _ in range(4):
        page.turn(0.25, -240)
    start, end = page.window()
    assert end - start < 0.4
    assert start < 0.25 < end
    page.point(0.2501)
    assert abs(float(page.slip()["time"][:-2]) - float(before[:-2])) <= 0.02


def test_zooming_out_of_the_whole_run_scrolls_the_page(page: Reader) -> None:
    page.open(busy())
    page.turn(0.5, 300)
    page.until(lambda: page.run("return scrollY") > 0)
    assert page.window() == (0.0, 1.0)


def test_a_drag_moves_along_and_a_double_click_goes_back(page: Reader) -> None:
    page.open(busy())
    page.click("#tools button", 0)
    start, end = page.window()
    page.mouse("mousePressed", 0.7, button="left", clickCount=1)
    page.mouse("mouseMoved", 0.6, button="left", buttons=1)
    page.mouse("mouseMoved", 0.4, button="left", buttons=1)
    page.mouse("mouseReleased", 0.4, button="left", clickCount=1)
    moved = page.window()
    assert moved[0] == pytest.approx(start + 0.3 * (end - start), abs=0.01)
    assert "frozen" not in page.run("return document.querySelector('#slip').className")
    page.press(0.5, times=2)
    assert page.window() == (0.0, 1.0)


def test_a_click_holds_the_slip_and_escape_lets_it_go(page: Reader) -> None:
    page.open(busy())
    page.press(0.5)
    held = page.slip()
    page.point(0.8)
    assert page.slip() == held
    page.key("Escape")
    page.point(0.8)
    assert page.slip()["row"] != held["row"]


def test_keys_do_all_of_it(page: Reader) -> None:
    page.open(busy())
    page.point(0.5)
    row = int(page.slip()["row"])
    page.key("ArrowRight")
    assert int(page.slip()["row"]) == row + 1
    page.key("ArrowLeft", shift=True)
    assert int(page.slip()["row"]) == row - 9
    page.key("+")
    start, end = page.window()
    assert end - start == pytest.approx(0.6, abs=0.01)
    page.key("PageDown")
    assert page.window()[0] > start
    page.key("Home")
    assert page.slip()["row"] == "1"
    page.key("End")
    assert page.slip()["row"] == "6000"
    page.key("0")
    assert page.window() == (0.0, 1.0)
    page.key("n")
    assert page.window() != (0.0, 1.0)


def test_a_phone_has_one_column_and_two_fingers_zoom(page: Reader) -> None:
    page.open(busy(), width=390, height=844)
    assert page.run("return document.documentElement.scrollWidth") == 390
    left, width, y = page.paper()
    assert width > 350
    page.call("Emulation.setTouchEmulationEnabled", enabled=True, maxTouchPoints=2)
    try:
        for kind, apart in (("touchStart", 30), ("touchMove", 60), ("touchMove", 120)):
            middle = left + width / 2
            points = [
                {"x": middle - apart, "y": y, "id": 0},
                {"x": middle + apart, "y": y, "id": 1},
            ]
            page.call("Input.dispatchTouchEvent", type=kind, touchPoints=points)
        page.call("Input.dispatchTouchEvent", type="touchEnd", touchPoints=[])
        page.frame()
    finally:
        page.call("Emulation.setTouchEmulationEnabled", enabled=False)
    start, end = page.window()
    assert end - start < 0.5
    assert start < 0.5 < end
