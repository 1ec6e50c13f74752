"""Reads a digest as a mail reader does, by libraries that are not ours (Python's email, icalendar), and prints what it
found as JSON, a line for each file. Whatever is no message of the form that is promised ends it with a line on standard error and status 1."""

import json
import re
import sys
from email import policy
from email.parser import BytesParser
from email.utils import parseaddr, parsedate_to_datetime
from html.parser import HTMLParser

import icalendar

ADDRESS = re.compile(r"[\w.+-]+@[\w.-]*\w")


def need(holds, what):
    if not holds:
        sys.exit(f"{checked}: {what}")


class Page(HTMLParser):
    """What a page shows, and what it asks for."""

    def __init__(self):
        super().__init__()
        self.words, self.images, self.alts, self.links = [], [], [], []

    def handle_starttag(self, tag, attrs):
        attrs = dict(attrs)
        need(tag not in ("script", "iframe", "object", "embed", "form", "link"), f"<{tag}> in a message")
        need(not any(name.startswith("on") for name in attrs), f"a handler in <{tag}>")
        if tag == "img":
            need(attrs.get("alt"), "an image without words")
            self.images.append(attrs["src"])
            self.alts.append(attrs["alt"])
        if tag == "a":
            self.links.append(attrs["href"])

    def handle_data(self, data):
        self.words.append(data)


def check(raw):
    need(b"\r\n" in raw and b"\n" not in raw.replace(b"\r\n", b""), "a line ends in something else than CRLF")
    lines = raw.split(b"\r\n")
    need(max(map(len, lines)) <= 998, "a line is longer than 998 octets")
    head_lines = lines[: lines.index(b"")]
    need(all(len(line) <= 78 for line in head_lines), f"a header line is longer than 78: {max(head_lines, key=len)}")
    need(all(byte < 128 for byte in raw), "an octet above 127: nothing promises that a server takes it")

    message = BytesParser(policy=policy.default).parsebytes(raw)
    for part in message.walk():
        need(not part.defects, f"{part.get_content_type()}: {part.defects}")
    for field in ("From", "To", "Subject", "Date", "Message-ID", "MIME-Version", "List-Id", "List-Unsubscribe"):
        need(len(message.get_all(field, [])) == 1, f"{field} is there {len(message.get_all(field, []))} times")
        need(not message[field].defects, f"{field}: {message[field].defects}")
    need(message["Bcc"] is None and message["Cc"] is None, "a second reader")

    need(message.get_content_type() == "multipart/mixed", message.get_content_type())
    alternative, *attached = message.iter_parts()
    need(alternative.get_content_type() == "multipart/alternative", alternative.get_content_type())
    text, related = alternative.iter_parts()
    need(text.get_content_type() == "text/plain", text.get_content_type())
    need(related.get_content_type() == "multipart/related", related.get_content_type())
    html, *pictures = related.iter_parts()
    need(html.get_content_type() == "text/html", html.get_content_type())


    page = Page()
    source = html.get_content()
    page.feed(source)
    need("url(" not in source and "@import" not in source, "the style asks for something")
    ids = {picture["Content-ID"].strip("<>") for picture in pictures}
    need({image.removeprefix("cid:") for image in page.images} == ids, f"{page.images} against {ids}")
    for picture in pictures:
        need(picture.get_content_type() == "image/png", picture.get_content_type())
        need(picture.get_content()[:8] == b"\x89PNG\r\n\x1a\n", "no PNG")
        need(picture.get_content_disposition() == "inline", "a picture that is no part of the page")

    events = []
    for part in attached:
        need(part.get_content_type() == "text/calendar", part.get_content_type())
        need(part.get_content_charset() == "utf-8", part["Content-Type"])
        body = part.get_payload(decode=True)
        need(all(len(line) <= 75 for line in body.split(b"\r\n")), "a calendar line is longer than 75 octets")
        found = icalendar.Calendar.from_ical(body)
        need(found["VERSION"] == "2.0" and "PRODID" in found and "METHOD" not in found, str(found))
        for event in found.walk("VEVENT"):
            need(not event.errors, str(event.errors))
            need(event["TRANSP"] == "TRANSPARENT" and event["STATUS"] == "TENTATIVE", str(event))
            events.append(
                {
                    "uid": str(event["UID"]),
                    "summary": str(event["SUMMARY"]),
                    "from": event.decoded("DTSTART").isoformat(),
                    "to": event.decoded("DTEND").isoformat(),
                }
            )

    plain = text.get_content()
    print(
        json.dumps(
            {
                "from": parseaddr(message["From"])[1],
                "to": list(parseaddr(message["To"])),
                "subject": str(message["Subject"]),
                "date": parsedate_to_datetime(message["Date"]).isoformat(),
                "message_id": message["Message-ID"],
                "list_unsubscribe": "".join(message["List-Unsubscribe"].split()),
                "one_click": message["List-Unsubscribe-Post"],
                "from_name": parseaddr(message["From"])[0],
                "reply_to": parseaddr(message["Reply-To"] or "")[1],
                "list_id": str(message["List-Id"]),
                "alts": page.alts,
                "links": page.links,
                "addresses_in_text": sorted(set(ADDRESS.findall(plain))),
                "addresses_in_html": sorted(set(ADDRESS.findall(" ".join(page.words)))),
                "text": plain,
                "html_words": " ".join(" ".join(page.words).split()),
                "pictures": len(pictures),
                "events": events,
                "bytes": len(raw),
                "bytes_without_pictures": len(raw) - sum(len(p.as_bytes()) for p in pictures),
            }
        )
    )


for checked in sys.argv[1:]:
    with open(checked, "rb") as file:
        check(file.read())
