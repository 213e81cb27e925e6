"""The local web page of `drillgen serve`. See docs/web.md."""
