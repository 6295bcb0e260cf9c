package android.content;

import java.io.File;

public class Context {
    public static final String VIBRATOR_SERVICE = "vibrator";
    public static final String SENSOR_SERVICE = "sensor";

    public static File files;

    public Object getSystemService(String name) {
        return null;
    }

    public File getFilesDir() {
        return files;
    }

    public String getPackageName() {
        return "example.fernhollow.voltwalk";
    }
}
