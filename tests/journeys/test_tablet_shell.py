"""The page that stands in while the network is away: what is kept, what it says, and that nothing but red is shown."""

from __future__ import annotations

import base64
import re
from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from django.utils import timezone

from studiodesk.bookings.models import Booking
from studiodesk.chemistry.models import Feed
from studiodesk.people.models import Member
from studiodesk.stations.models import Process, Processor, Station
from tests.cast import CHROMIUM_FLAGS

from .tablets import House, arrived, counted, enrolled, offline, opened, says, tap, until
from .test_tablet_offline import chromium, context, studio

__all__ = ["context", "studio"]
pytestmark = pytest.mark.parametrize("engine", ["sqlite"], indirect=True)

#: Every colour of every element and of its parts, but for what is not there at all and for the light of SVG filters,
#: which a marker or a selection cannot have.
COLOURS = """() => {
  const found = {};
  for (const element of document.querySelectorAll("*")) for (const part of [null, "::before", "::after", "::marker",
      "::selection", "::placeholder", "::backdrop"]) {
    const style = getComputedStyle(element, part);
    const bare = part && !/before|after/.test(part);
    for (const name of style) if (!bare || name !== "lighting-color")
      for (const m of style.getPropertyValue(name).matchAll(
        /rgba?\\((\\d+), (\\d+), (\\d+)(?:, ([\\d.]+))?\\)/g))
      if (m[4] !== "0") (found[`${m[1]},${m[2]},${m[3]}`] ??= []).push(`${element.tagName}${part ?? ""} ${name}`);
  }
  return found;
}"""
#: In a page without a policy of ours: how many pixels of a picture are anything but red.
COUNT = """async (data) => {
  const picture = await createImageBitmap(await (await fetch(`data:image/png;base64,${data}`)).blob());
  const canvas = new OffscreenCanvas(picture.width, picture.height).getContext("2d");
  canvas.drawImage(picture, 0, 0);
  const pixels = canvas.getImageData(0, 0, picture.width, picture.height).data;
  let other = 0, lit = 0;
  for (let at = 0; at < pixels.length; at += 4) {
    if (pixels[at + 1] > 8 || pixels[at + 2] > 8) other += 1;
    if (pixels[at] > 128) lit += 1;
  }
  return [other, lit];
}"""
AMBER = {(255, 176, 0), (168, 116, 0), (43, 29, 0), (0, 0, 0)}


def booked_now(name: str = "Friend") -> Booking:
    now = timezone.now()
    return Booking.objects.create(
        reference="tablet-shell", member=Member.objects.get(name=name), station=Station.objects.get(code="E1"),
        process=Process.objects.get(code="rc"), processor=Processor.objects.get(code="P-RC"),
        starts=now - timedelta(minutes=1), ends=now + timedelta(minutes=1), made_at=now - timedelta(days=1),
        recorded_at=now,
    )  # fmt: skip


def chosen_light(page: Any, light: str) -> None:
    if page.locator("html").get_attribute("class") != light:
        page.locator(f"button[value={light}]").click()
    assert page.locator("html").get_attribute("class") == light


def wrong_colours(page: Any, light: str) -> dict[str, list[str]]:
    found = page.evaluate(COLOURS)
    assert len(found) > 2
    right: Callable[[tuple[int, ...]], bool] = (
        (lambda rgb: rgb[1] == rgb[2] == 0) if light == "dim-red" else AMBER.__contains__
    )
    return {name: where for name, where in found.items() if not right(tuple(map(int, name.split(","))))}


def test_the_worker_keeps_nothing_that_was_served_to_anybody(studio: House, context: Any, browser: Any) -> None:
    booked_now()
    page = opened(context, studio)
    assert page.locator("[data-tiles=who] label", has_text="Friend").count() == 1
    tap(page, 2)
    for path in ("/tablet/", "/tablet/people/", "/tablet/fault/", "/tablet/processor/P-CO/", "/safety/", "/tablet/"):
        page.goto(studio.url(path))
    with offline(context):
        page.reload()
        assert page.locator("html[data-shell]").count() == 1
    page.locator("html:not([data-shell])").wait_for()
    kept = page.evaluate(
        """async () => { const found = {};
        for (const name of await caches.keys()) for (const request of await (await caches.open(name)).keys()) {
          const answer = await caches.match(request);
          found[request.url] = [name, new Uint8Array(await answer.arrayBuffer()).toBase64?.()
            ?? btoa(String.fromCharCode(...new Uint8Array(await (await caches.match(request)).arrayBuffer())))];
        } return found; }"""
    )
    assert len({name for name, _ in kept.values()}) == 1, "one version"
    paths = {url.removeprefix(studio.address) for url in kept}
    assert {path for path in paths if not path.startswith("/static/")} == {"/tablet/shell/"}
    stranger = browser.new_context()
    for url, (_name, body) in kept.items():
        assert stranger.request.get(url).body() == base64.b64decode(body), url
        assert b"Friend" not in base64.b64decode(body)


def test_a_new_version_takes_the_place_of_the_old_one_and_of_what_that_kept(studio: House, context: Any) -> None:
    page = opened(context, studio)
    (before,) = page.evaluate("caches.keys()")
    studio.line.faults["/tablet/worker.js"] = (b'"version": "tablet-', b'"version": "tablet-new')
    page.evaluate("navigator.serviceWorker.getRegistration().then(one => one.update()).then(() => null)")
    after = before.replace("tablet-", "tablet-new")
    until(lambda: page.evaluate("caches.keys()") == [after], "the new version alone is kept")
    with offline(context):
        page.reload()
        page.locator("html[data-shell] #entry").wait_for()


def test_the_day_s_names_stand_in_the_shell_and_are_gone_when_the_day_is(studio: House, context: Any) -> None:
    booked_now()
    page = opened(context, studio)
    with offline(context):
        page.reload()
        names = page.locator("[data-tiles=who] label", has_text="Friend")
        names.wait_for()
        tap(page, 2, who="Friend")
        page.evaluate(
            "tabletQueue.kept('facts').then(facts => tabletQueue.keep('facts', {...facts, until: facts.now - 1}))"
        )
        page.reload()
        page.locator("[data-tiles=who] label", has_text="Walk-in").wait_for()
        assert names.count() == 0
        assert "Friend" not in page.evaluate("tabletQueue.kept('facts').then(JSON.stringify)")
    arrived([2])


@pytest.mark.parametrize("fault", [502, 503, 504, "hang"])
def test_a_server_that_is_away_or_too_slow_is_stood_in_for(studio: House, context: Any, fault: Any) -> None:
    page = opened(context, studio)
    studio.line.faults["/tablet/"] = fault
    page.goto(studio.url("/tablet/processor/P-RC/"))
    page.locator("html[data-shell] #entry").wait_for(timeout=8_000)
    tap(page, 2)
    studio.line.faults.clear()
    arrived([2])
    page.locator("html:not([data-shell])").wait_for(timeout=45_000)


def test_what_a_form_sent_and_nobody_took_is_said(studio: House, context: Any) -> None:
    page = opened(context, studio, "/tablet/fault/")
    with offline(context):
        page.locator("label.tile").first.click()
        page.locator("button[name=kind]").first.click()
        page.locator("html[data-shell]").wait_for()
        page.locator("#warned", has_text="That was not kept: it needs the network.").wait_for()


def test_over_an_address_that_is_not_secure_it_says_so_and_goes_on(studio: House, browser: Any) -> None:
    rules = "--host-resolver-rules=MAP studio.lan 127.0.0.1"
    other = browser.browser_type.launch(executable_path=chromium(), args=[*CHROMIUM_FLAGS, rules])
    made = other.new_context(locale="en-GB")
    address = f"http://studio.lan:{studio.line.port}"
    enrolled(made, studio)
    made.add_cookies([{**made.cookies()[0], "domain": "studio.lan"}])
    page = made.new_page()
    page.goto(f"{address}/tablet/processor/P-RC/")
    says(page, "This tablet can't save without the network: its address is not secure")
    assert page.evaluate("isSecureContext") is False
    tap(page, 2)
    assert counted() == [2]
    assert page.evaluate("navigator.serviceWorker === undefined")
    other.close()


def test_storage_that_fails_is_said_and_the_log_is_sent_as_a_form(studio: House, context: Any) -> None:
    page = opened(context, studio)
    page.evaluate(
        """() => {
          IDBObjectStore.prototype.put = () => { throw new DOMException("full", "QuotaExceededError"); };
          const region = document.getElementById("queue");
          new MutationObserver(() => { sessionStorage.said = region.textContent; })
            .observe(region, {childList: true, characterData: true, subtree: true});
        }"""
    )
    page.locator("[data-tiles=sheet] label").first.click()
    page.locator("[data-tiles=who] label", has_text="Walk-in").click()
    page.locator("form#log button.act").click()
    page.locator("#last", has_text="Logged 1 sheet").wait_for()
    assert page.evaluate("sessionStorage.said") == "Cannot save: tell the desk"
    assert counted() == [1] and Feed.objects.get().tablet_key is None


def test_the_light_chosen_is_remembered_with_and_without_the_network(studio: House, context: Any) -> None:
    page = opened(context, studio)
    chosen_light(page, "dim-amber")
    page.reload()
    assert page.locator("html").get_attribute("class") == "dim-amber"
    with offline(context):
        page.reload()
        assert page.locator("html[data-shell]").get_attribute("class") == "dim-amber"
        chosen_light(page, "dim-red")
        page.reload()
        assert page.locator("html[data-shell]").get_attribute("class") == "dim-red"
    page.locator("html:not([data-shell])").wait_for()
    assert page.locator("html").get_attribute("class") == "dim-red"
    until(lambda: page.evaluate("localStorage.getItem('light-untold')") == "", "the server is told")
    assert 'class="dim-red"' in context.request.get(studio.url("/tablet/")).text()


def test_the_first_tap_after_a_rest_only_wakes_the_shell_and_all_is_large(studio: House, context: Any) -> None:
    page = opened(context, studio)
    context.set_offline(True)
    page.clock.install()
    page.reload()
    page.locator("#entry").wait_for()
    heights = page.evaluate(
        "[...document.querySelectorAll('button, a, .tile')].filter(one => one.offsetParent && "
        "!one.matches('.visually-hidden')).map(one => [one.textContent.trim(), one.getBoundingClientRect().height])"
    )
    assert len(heights) > 10 and min(height for _words, height in heights) >= 72
    assert page.locator("select, input:not([type=radio]):not([type=hidden]), textarea").count() == 0
    page.clock.run_for(62_000)
    assert page.locator("[data-asleep]").is_visible()
    middle = page.locator(".stepper button").last.bounding_box()
    page.mouse.click(middle["x"] + 20, middle["y"] + 20)
    assert page.locator("[data-asleep]").is_hidden() and page.locator("output").inner_text() == "1"
    page.locator(".stepper button").last.click()
    assert page.locator("output").inner_text() == "2"


@pytest.mark.parametrize("light", ["dim-red", "dim-amber"])
def test_no_computed_colour_is_of_another_light(studio: House, context: Any, light: str) -> None:
    booked_now()
    page = opened(context, studio)
    chosen_light(page, light)
    tap(page, 2)
    says(page, "All logs sent")
    assert wrong_colours(page, light) == {}
    with offline(context):
        tap(page, 3, size="406x508")
        page.reload()
        tap(page, 4)
        assert page.locator("html[data-shell]").count() == 1
        assert wrong_colours(page, light) == {}
        page.goto(studio.url("/tablet/"))
        page.locator("#processors").wait_for()
        assert wrong_colours(page, light) == {}
        Processor.objects.filter(code="P-RC").update(feed_width_mm=300)
    says(page, "1 needs the desk")
    assert wrong_colours(page, light) == {}
    chosen_light(page, "plain")
    assert wrong_colours(page, light), "the check finds other colours where there are some"


def test_from_the_tap_to_the_loaded_page_not_one_pixel_is_anything_but_red(
    studio: House, context: Any, browser: Any
) -> None:
    page = opened(context, studio)
    frames: list[str] = []
    watch = context.new_cdp_session(page)

    def frame(event: dict[str, Any]) -> None:
        frames.append(event["data"])
        watch.send("Page.screencastFrameAck", {"sessionId": event["sessionId"]})

    watch.on("Page.screencastFrame", frame)
    watch.send("Page.startScreencast", {"format": "png", "everyNthFrame": 1})
    page.locator("[data-tiles=sheet] label").first.click()
    tap(page, 2)
    page.wait_for_url(re.compile("logged=1"))
    page.get_by_role("link", name="Another processor").click()
    page.locator("a.act").nth(1).click()
    page.locator("form#log").wait_for()
    seen = len(frames)
    with offline(context):
        page.reload()
        page.locator("#entry").wait_for()
        tap(page, 3, size="203x254")
        page.get_by_role("link", name="Another processor").click()
        page.locator("#processors").wait_for()
        page.reload()
        page.locator("#processors").wait_for()
    page.locator("html:not([data-shell])").wait_for()
    page.wait_for_timeout(500)
    watch.send("Page.stopScreencast")
    assert seen > 5 and len(frames) > seen + 5, "the walk was filmed"
    counter = browser.new_context().new_page()
    told = [counter.evaluate(COUNT, data) for data in frames]
    assert [other for other, _lit in told if other] == []
    assert sum(1 for _other, lit in told if lit > 1000) > 5, "and there was something to see"
    chosen_light(page, "plain")
    other, _lit = counter.evaluate(COUNT, base64.b64encode(page.screenshot()).decode())
    assert other > 10_000, "the count finds other colours where there are some"
