"""What goes into an installed copy beside the code: the resources and the sample units, inside the package."""

from setuptools import find_packages, setup

BESIDE = ("resources", "sample_units")

setup(
    packages=[*find_packages(include=["station*"]), *(f"station.{folder}" for folder in BESIDE)],
    package_dir={f"station.{folder}": folder for folder in BESIDE},
    package_data={f"station.{folder}": ["**/*"] for folder in BESIDE},
)
