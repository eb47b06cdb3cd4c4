"""A tablet is paired and shows the crew page, from another address than loopback where there is one."""

from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from daemons import command, holdwater, write_rig
from playwright.sync_api import Browser, Page, expect
from stub_server import Stub
from waiting import until

from monitor.pages.certificate import addresses

pytestmark = pytest.mark.browser


def hindrances(page: Page) -> set[str]:
    """What Chromium itself says against installing the page as an app; a test's window counts as incognito."""
    tools = page.context.new_cdp_session(page)
    tools.send("Page.enable")
    tools.send("Page.getAppManifest")
    return {each["errorId"] for each in tools.send("Page.getInstallabilityErrors")["installabilityErrors"]}


def test_on_the_monitors_own_device_the_page_can_be_installed(page: Page, stub: Stub) -> None:
    page.goto(stub.url)
    expect(page.locator(".digits")).to_have_text("15")
    assert hindrances(page) <= {"in-incognito"}


def test_a_tablet_is_paired_stays_awake_and_can_install_the_page(chromium: Browser, tmp_path: Path) -> None:
    rig = write_rig(tmp_path / "rig.toml", 'serial = "/dev/nowhere"', listen="0.0.0.0:0")
    with holdwater(tmp_path, "run", rig) as daemon:
        host = next((found for found in sorted(addresses("0.0.0.0")) if not found.startswith("127.")), "127.0.0.1")
        url = f"https://{host}:{daemon.url.rpartition(':')[2]}"
        shown = command("pair", rig).stdout
        code = shown.split("type  ")[1].split()[0]
        # the tablet trusts the rig's certificate; here that is said to the browser, which checks nothing then
        context = chromium.new_context(ignore_https_errors=True, viewport={"width": 800, "height": 1280})
        page = context.new_page()
        wrong: list[str] = []
        page.on("pageerror", lambda error: wrong.append(str(error)))
        page.goto(url)
        expect(page).to_have_url(f"{url}/pair")
        assert Axe().run(page).response["violations"] == []
        page.goto("about:blank")
        page.goto(f"{url}/pair#{code}")
        expect(page.locator("#code")).to_have_value(code)
        expect(page).to_have_url(f"{url}/pair")
        page.fill("#name", "Tablet")
        page.click("form button")
        expect(page).to_have_url(f"{url}/")
        assert page.evaluate("isSecureContext && 'wakeLock' in navigator")
        manifest = page.evaluate(
            "fetch(document.querySelector('link[rel=manifest]').href).then((answer) => answer.json())"
        )
        assert manifest["start_url"].startswith("/")
        assert page.evaluate("navigator.wakeLock.request('screen').then((lock) => !lock.released)")
        expect(page.locator(".head-volume")).to_be_visible()
        by_the_test = {"in-incognito", "not-from-secure-origin"}
        until(lambda: hindrances(page) <= by_the_test, what="nothing else stands against installing the page")
        assert page.evaluate("fetch('/api/state').then((answer) => answer.status)") == 200
        assert page.evaluate("document.cookie") == ""
        assert wrong == []
        context.close()


def test_markup_in_names_is_text(chromium: Browser, tmp_path: Path) -> None:
    """Names come from a file and from nodes; on the page they are letters, whatever they look like."""
    name = "<img src=x onerror=document.title='taken'><script>document.title='taken'</script>"
    rig = write_rig(tmp_path / "rig.toml", 'serial = "/dev/nowhere"', name=name)
    rig.write_text(rig.read_text("utf-8").replace('name = "Rides"', f'name = "{name}"'), "utf-8")
    with holdwater(tmp_path, "run", rig) as daemon:
        context = chromium.new_context(viewport={"width": 1280, "height": 800})
        page = context.new_page()
        page.goto(daemon.url)
        expect(page.get_by_text("<img src=x").first).to_be_attached()
        assert page.locator("img[src=x]").count() == 0
        assert page.title() != "taken"
        context.close()
