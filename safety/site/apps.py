"""Registers the site, which carries the commands and the shared static files."""

from django.apps import AppConfig


class SiteConfig(AppConfig):
    """The project itself, so that its commands are found."""

    name = "safety.site"
    label = "site"
    verbose_name = "Brinewright"
