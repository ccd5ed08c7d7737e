"""Template tags for the bones of a page; they know nothing of the trade."""

from __future__ import annotations

from django import template
from django.http import HttpRequest
from django.template.base import NodeList
from django.template.context import Context
from django.template.loader_tags import BlockNode
from django.utils.safestring import SafeString

register = template.Library()


@register.simple_tag(takes_context=True)
def block_text(context: Context, name: str) -> SafeString:
    """What a page wrote in a block, so that the base can use it twice or leave it out."""
    return SafeString(BlockNode(name, NodeList()).render(context).strip())


@register.simple_tag(takes_context=True)
def query_with(context: Context, *changes: object) -> str:
    """This page's query string with names changed: name, value, name, value; None drops a name."""
    request: HttpRequest = context["request"]
    query = request.GET.copy()
    for name, value in zip(changes[::2], changes[1::2], strict=True):
        if value is None:
            query.pop(str(name), None)
        else:
            query[str(name)] = str(value)
    return "?" + query.urlencode()
