"""A tablet is paired and shows the crew page, from another address than loopback, over the rig's own certificate."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from conftest import FLAGS
from daemons import command, holdwater, write_rig
from elsewhere import elsewhere
from playwright.sync_api import Browser, Error, Page, expect
from stub_server import Stub
from waiting import until

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


@pytest.fixture(scope="module")
def rig_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    file = tmp_path_factory.mktemp("rig") / "rig.toml"
    return write_rig(file, 'serial = "/dev/nowhere"', listen="0.0.0.0:0")


@pytest.fixture(scope="module")
def tablet(
    tmp_path_factory: pytest.TempPathFactory, chromium: Browser, rig_file: Path
) -> Iterator[tuple[Browser, str]]:
    """A browser at another address, which trusts the rig as its owner told it to; and the page's address."""
    with elsewhere() as there, holdwater(rig_file.parent, "run", rig_file) as daemon:
        trust = rig_file.parent / "holdwater.certificate" / "trust.crt"
        start = there.browser(tmp_path_factory.mktemp("tablet"), trust)
        browser = chromium.browser_type.launch(executable_path=start, args=FLAGS)
        yield browser, f"https://{there.rig}:{daemon.url.rpartition(':')[2]}"
        browser.close()


@pytest.mark.cable
def test_a_tablet_is_paired_stays_awake_and_can_install_the_page(tablet: tuple[Browser, str], rig_file: Path) -> None:
    """Nothing is overlooked: the certificate is trusted by its authority, for this address."""
    browser, url = tablet
    context = browser.new_context(viewport={"width": 800, "height": 1280})
    page = context.new_page()
    wrong: list[str] = []
    page.on("pageerror", lambda error: wrong.append(str(error)))
    page.goto(url)
    expect(page).to_have_url(f"{url}/pair")
    assert Axe().run(page).response["violations"] == []
    code = command("pair", rig_file).stdout.split("type  ")[1].split()[0]
    page.goto("about:blank")
    page.goto(f"{url}/pair#{code}")
    expect(page.locator("#code")).to_have_value(code)
    expect(page).to_have_url(f"{url}/pair")
    page.fill("#name", "Tablet")
    page.click("form button")
    expect(page).to_have_url(f"{url}/")
    assert page.evaluate("isSecureContext")
    assert page.evaluate("navigator.wakeLock.request('screen').then((lock) => lock.type)") == "screen"
    expect(page.locator(".head-volume")).to_be_visible()
    until(lambda: hindrances(page) <= {"in-incognito"}, what="nothing stands against installing the page")
    assert page.evaluate("fetch('/api/state').then((answer) => answer.status)") == 200
    assert page.evaluate("document.cookie") == ""
    assert wrong == []
    context.close()


@pytest.mark.cable
def test_who_does_not_trust_the_rig_is_warned_by_his_browser(chromium: Browser, tablet: tuple[Browser, str]) -> None:
    page = chromium.new_context().new_page()
    with pytest.raises(Error, match="ERR_CERT_AUTHORITY_INVALID"):
        page.goto(tablet[1].replace(tablet[1].split("//")[1].split(":")[0], "127.0.0.1"))
    page.context.close()


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
