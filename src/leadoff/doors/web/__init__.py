"""The bench page: loopback by default, no request off the host, nothing written by reading.

``settings`` what was asked for, ``guard`` who may, ``reads`` and ``writes`` the tables of addresses, ``answers``
one result as page, part or JSON, ``live`` what others enter, ``pictures``, ``openapi``, ``serving`` the start.
"""
