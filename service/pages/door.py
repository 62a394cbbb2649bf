"""The front door: what is made here, the client's link, signing in, passwords."""

from __future__ import annotations

from urllib.parse import quote

from starlette.requests import Request
from starlette.responses import Response

from service.language.chosen import LANGUAGES
from service.pages.calling import Api, CallError
from service.pages.forms import read_form
from service.pages.rendering import go, local, render


async def front(request: Request) -> Response:
    """The workshops here; with one alone, its own page."""
    workshops = (await Api(request).get("/workshops"))["items"]
    if len(workshops) == 1:
        return go(f"/at/{workshops[0]['key']}")
    return render(request, "door/front.html", workshops=workshops)


async def open_link(request: Request) -> Response:
    """A client's link: lets this browser in and goes on to the order, so that the secret leaves the
    address.
    """
    secret = request.path_params["secret"]
    try:
        reply = await Api(request).send("POST", "/client-session", {"secret": secret})
    except CallError as refused:
        if refused.status not in {404, 422}:
            raise
        return render(request, "door/lapsed.html", 404, secret=secret, asked=False)
    return go(f"/order/{reply.json['order_id']}", reply.cookies)


async def ask_for_link(request: Request) -> Response:
    """Have a new link mailed; the answer never tells whether there was one."""
    sent = await read_form(request)
    await Api(request).send("POST", "/client-links", {"secret": sent.text("secret") or "-"})
    return render(request, "door/lapsed.html", secret="", asked=True)


async def lost_link_form(request: Request) -> Response:
    """Ask for the link of an order by the address it was placed with."""
    workshops = (await Api(request).get("/workshops"))["items"]
    at = request.query_params.get("at", "")
    return render(request, "door/lost_link.html", workshops=workshops, at=at, asked=False)


async def mail_lost_link(request: Request) -> Response:
    """Have it mailed; the answer never tells who has orders."""
    sent = await read_form(request)
    asked = {"email": sent.text("email")[:254] or "-", "number": sent.whole("number")}
    await Api(request).send("POST", f"/workshops/{quote(sent.text('at') or '-', safe='')}/lost-links", asked)
    return render(request, "door/lost_link.html", workshops=[], at="", asked=True)


async def sign_in_form(request: Request) -> Response:
    """The maker's way in."""
    to = local(request.query_params.get("to", ""), "/bench")
    return render(request, "door/sign_in.html", to=to, values={}, trouble="")


async def sign_in(request: Request) -> Response:
    """Sign in and go on."""
    sent = await read_form(request)
    email, to = sent.text("email"), local(sent.text("to"), "/bench")
    asked = {"email": email, "password": sent.typed("password"), "code": sent.text("code")[:60]}
    try:
        reply = await Api(request).send("POST", "/session", asked)
    except CallError as refused:
        values = {"email": email}
        return render(
            request, "door/sign_in.html", refused.status, to=to, values=values, trouble=refused.words
        )
    several = reply.json["several"] and to == "/bench"
    return go("/bench/workshops" if several else to, reply.cookies)


async def sign_out(request: Request) -> Response:
    """End the session."""
    await read_form(request)
    reply = await Api(request).send("DELETE", "/session")
    return go("/", reply.cookies)


async def forgotten_form(request: Request) -> Response:
    """Ask for a link to set a new password."""
    return render(request, "door/forgotten.html", asked=False)


async def forgotten(request: Request) -> Response:
    """Have it mailed; the answer never tells whether there is such an account."""
    sent = await read_form(request)
    await Api(request).send("POST", "/password-links", {"email": sent.text("email")[:254]})
    return render(request, "door/forgotten.html", asked=True)


async def password_form(request: Request) -> Response:
    """Set a password by the link that came by mail."""
    secret = request.path_params["secret"]
    whose = await Api(request).send("POST", "/password-links/owner", {"secret": secret})
    return render(request, "door/password.html", whose=whose.json, secret=secret, faults={})


async def choose_password(request: Request) -> Response:
    """Set it, then sign in with it."""
    secret = request.path_params["secret"]
    sent = await read_form(request)
    password = sent.typed("password")
    api = Api(request)
    try:
        await api.send("POST", "/passwords", {"secret": secret, "password": password})
    except CallError as refused:
        if refused.status != 422:
            raise
        whose = await api.send("POST", "/password-links/owner", {"secret": secret})
        return render(
            request, "door/password.html", 422, whose=whose.json, secret=secret, faults=refused.fields
        )
    return go("/bench/sign-in")


async def choose_units(request: Request) -> Response:
    """Show lengths in millimetres or in inches from now on, on this device."""
    sent = await read_form(request)
    units = "inches" if sent.text("units") == "inches" else "millimetres"
    kept = f"units={units}; Path=/; Max-Age=31536000; SameSite=Lax"
    return go(local(sent.text("to")), [kept])


async def choose_language(request: Request) -> Response:
    """Speak another language from now on, on this device; any page may link here."""
    chosen = request.path_params["language"]
    kept = [f"language={chosen}; Path=/; Max-Age=31536000; SameSite=Lax"] if chosen in LANGUAGES else []
    return go(local(request.query_params.get("to", "/")), kept)


ROUTES = (
    ("/language/{language}", "GET", choose_language),
    ("/units", "POST", choose_units),
    ("/", "GET", front),
    ("/lost-link", "GET", lost_link_form),
    ("/lost-link", "POST", mail_lost_link),
    ("/link/renewal", "POST", ask_for_link),
    ("/link/{secret}", "GET", open_link),
    ("/bench/sign-in", "GET", sign_in_form),
    ("/bench/sign-in", "POST", sign_in),
    ("/bench/sign-out", "POST", sign_out),
    ("/bench/forgotten", "GET", forgotten_form),
    ("/bench/forgotten", "POST", forgotten),
    ("/password/{secret}", "GET", password_form),
    ("/password/{secret}", "POST", choose_password),
)
