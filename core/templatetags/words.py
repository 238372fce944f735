"""Words of scripts, in templates."""

from django import template

from core.services.script_words import script_words

register = template.Library()
register.simple_tag(script_words)
