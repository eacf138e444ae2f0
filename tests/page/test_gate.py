"""Nobody but the page itself is answered, and the browser is told what the page may do."""

import pytest

pytest.importorskip("starlette")

from starlette.testclient import TestClient
from starlette.websockets import WebSocketDisconnect

from recommender.page.gate import LARGEST_BODY

PAGE = {"Content-Type": "application/x-www-form-urlencoded"}
FORM = "load.mass=1+kg&rate.items=1/min"


@pytest.fixture
def client(opened, stand) -> TestClient:
    return opened(stand)


def test_the_page_is_served_under_its_secret_alone(client):
    origin = str(client.base_url).split("/a-")[0]
    assert client.get("/").status_code == 200
    for path in ("/", "/question/x", "/page.js", "/a-token-of-its-ow/", "/a-token-of-its-own"):
        assert client.get(origin + path).status_code == 404, path
    assert client.get(f"{origin}//a-token-of-its-own/").status_code == 404


@pytest.mark.parametrize(
    "host", ["example.com", "127.0.0.1", "127.0.0.1:1", "127.0.0.1:8123.example.com", ""]
)
def test_another_host_is_refused(client, host, stand):
    assert client.get("/", headers={"Host": host}).status_code == 403
    assert client.post("/question", content=FORM, headers={"Host": host}).status_code == 403
    assert stand.asked == []


@pytest.mark.parametrize(
    "origin",
    ["http://example.com", "null", "http://127.0.0.1:1", "https://127.0.0.1:8123", "", None],
)
def test_nothing_is_taken_from_another_page(client, origin, stand):
    headers = {} if origin is None else {"Origin": origin}
    if origin is None:
        del client.headers["Origin"]
    for path in ("/question", "/stations", "/open", "/worked/crate"):
        assert client.post(path, content=FORM, headers=headers).status_code == 403
    assert stand.asked == []


@pytest.mark.parametrize("site", ["cross-site", "same-site", "x"])
def test_what_another_page_asks_for_is_refused(client, site, stand):
    headers = {"Sec-Fetch-Site": site}
    assert client.get("/", headers=headers).status_code == 403
    assert client.post("/question", content=FORM, headers=headers).status_code == 403
    assert stand.asked == []


def test_what_the_page_itself_sends_is_taken(client, stand):
    headers = {**PAGE, "Sec-Fetch-Site": "same-origin"}
    assert client.post("/question", content=FORM, headers=headers).status_code == 200
    assert len(stand.asked) == 1


@pytest.mark.parametrize("method", ["PUT", "DELETE", "PATCH", "OPTIONS", "TRACE"])
def test_other_methods_are_refused_and_no_other_site_is_let_in(client, method):
    answer = client.request(method, "/question")
    assert answer.status_code == 405
    assert not [name for name in answer.headers if name.startswith("access-control")]


def test_more_than_a_case_file_may_have_is_refused_whatever_length_is_promised(client, stand):
    large = b"x" * (LARGEST_BODY + 1)
    assert client.post("/question", content=large).status_code == 413
    assert client.post("/open", content=iter([large[:1000], large])).status_code == 413
    assert client.post("/open", content=b"x" * LARGEST_BODY).status_code == 200
    for length in ("-1", "1e9", "9" * 20):
        answer = client.post("/question", content=FORM, headers={"Content-Length": length})
        assert answer.status_code == 413
    assert stand.asked == []


def test_more_fields_than_a_form_has_are_refused(client, stand):
    assert client.post("/question", content="&".join(["a=1"] * 2001)).status_code == 413
    assert stand.asked == []


@pytest.mark.parametrize("path", ["/", "/page.js", "/page.css", "/nothing", "/question/x"])
def test_every_answer_says_what_a_browser_may_do_with_it(client, path):
    headers = client.get(path).headers
    policy = headers["Content-Security-Policy"]
    assert "default-src 'none'" in policy and "unsafe" not in policy
    assert "frame-ancestors 'none'" in policy
    assert headers["X-Content-Type-Options"] == "nosniff"
    assert headers["Cross-Origin-Resource-Policy"] == "same-origin"
    assert headers["Cache-Control"] == "no-store"
    assert not [name for name in headers if name.lower().startswith("access-control")]


def test_the_page_holds_no_script_and_no_style_of_its_own(client):
    text = client.get("/").text
    assert "<style" not in text and " style=" not in text and " onclick" not in text
    assert text.count("<script") == 1 and "://" not in text


def test_websockets_are_not_there(client):
    with pytest.raises(WebSocketDisconnect), client.websocket_connect("/"):
        pass
