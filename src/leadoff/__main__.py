"""``python -m leadoff``"""

from leadoff.doors.cli.main import main

if __name__ == "__main__":
    main()
