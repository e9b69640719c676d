"""Everything that touches a media file: finding the tools, reading, converting, taking frames out.

No module here imports Django. Files are hostile until they have been read by ``probe``; every run of
an outside program goes through ``guard`` and ``child``.
"""
