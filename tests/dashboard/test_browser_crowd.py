"""What a careless or hostile visitor does in a real browser: many tabs, huge files, odd names of files."""

import pytest

pytestmark = pytest.mark.browser
NAMES = [
    "../../../etc/passwd.toml", "<img src=x onerror=alert(1)>.toml", "a\u202egnp.toml", "x" * 200 + ".toml",
    "**bold** [a](http://a.example) $x$ :material/home:.toml",
]  # fmt: skip


def chosen(page, name, content):
    page.get_by_text("Your own house or rain").click()
    page.get_by_test_id("stFileUploaderDropzoneInput").first.set_input_files(
        {"name": name, "mimeType": "text/plain", "buffer": content}
    )


def test_a_hostile_file_name_is_shown_as_the_words_it_is(page):
    for name in NAMES:  # a page opened anew each time, in one browser that has its scripts already
        page.goto("/assumptions")
        chosen(page, name, b'extends = "cottage"\nyears = true\n')
        said = page.get_by_test_id("stText").filter(has_text="wanted")
        said.first.wait_for()
        assert said.first.inner_text().endswith("years: read true; wanted a number"), name
        assert page.locator("img[src=x]").count() == 0, name
        assert page.get_by_role("link", name="a", exact=True).count() == 0, name


def test_a_huge_file_is_refused_in_words_and_the_page_goes_on(page):
    page.goto("/assumptions")
    chosen(page, "big.toml", b"#" * (6 * 1024 * 1024))
    page.get_by_text("File must be 5.0MB or smaller").or_(page.get_by_text("larger than 5")).first.wait_for()
    page.get_by_text("Every value of this site").first.wait_for()


@pytest.mark.parametrize("count", [6, pytest.param(20, marks=pytest.mark.long)])
def test_many_tabs_of_a_visitor_all_open(visit, count):
    tabs = [visit()]
    tabs += [tabs[0].context.new_page() for _ in range(count - 1)]
    for tab in tabs:
        tab.goto("/house")
    for tab in tabs:
        tab.get_by_text("How much rain is caught and kept?").first.wait_for()
    names = [one["value"] for one in tabs[0].context.cookies() if one["name"] == "cisterntwin_visitor"]
    assert len(names) == 1
